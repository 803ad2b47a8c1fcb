"""Bringing in a spreadsheet: read, corrected in place, recorded all or not at all."""

from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import RecordedAsFound, Washed
from tethera.web.accounts.models import Account, Membership
from tethera.web.importing.models import Draft
from tethera.web.importing.reading import read_draft, seal
from tethera.web.store.models import Store
from tethera.web.work.doing import do_work
from tethera.web.work.models import Work
from web.conftest import Club

SHEET = """No,Length,Rope,Bought,State
1,60m,10mm A,Sept 2019,
2,30/40,10mm A,Sept 2019,
4 & 5,20m,10mm A,Sept 2019,
6,25m,10mm static,2020,
7,35m,10mm static,2020,purple
Total,140m,,,
"""


def bring(club: Club, text: str | bytes = SHEET, name: str = "ropes.csv", client: Client | None = None) -> Draft | None:
    """Bring a file and let the worker read it."""
    data = text.encode() if isinstance(text, str) else text
    file = SimpleUploadedFile(name, data)
    answer = (client or club.keeper).post(f"{club.address}/import", {"file": file})
    assert answer.status_code == 302, answer.content.decode()
    work = Work.objects.first()
    assert work is not None
    do_work.call(work.pk)
    return Draft.objects.filter(store=club.store).first()


def page_of(club: Club, draft: Draft, asked: str = "") -> str:
    return club.keeper.get(f"{club.address}/import/{draft.pk}{asked}").content.decode()


def seal_of(club: Club, draft: Draft) -> str:
    draft.refresh_from_db()
    return seal(read_draft(draft, club.register(), timezone.localdate()))


def send(club: Club, draft: Draft, client: Client | None = None, **typed: object) -> object:
    told = {name.replace("__", "-"): value for name, value in typed.items()}
    return (client or club.keeper).post(f"{club.address}/import/{draft.pk}", told)


def record(club: Club, draft: Draft) -> Work:
    """Press Record and let the worker do it."""
    answer = send(club, draft, act="record", seal=seal_of(club, draft))
    assert "/under-way/" in answer["Location"]  # type: ignore[index]
    work = Work.objects.first()
    assert work is not None
    do_work.call(work.pk)
    work.refresh_from_db()
    return work


def found(club: Club) -> list[RecordedAsFound]:
    return [each for each in club.log() if isinstance(each, RecordedAsFound)]


def test_the_empty_page_says_what_to_do_and_only_keepers_see_it(club: Club) -> None:
    address = f"{club.address}/import"
    assert "The old list comes in as it is." in club.keeper.get(address).content.decode()
    for client in (club.competent, club.member, club.reader):
        assert client.get(address).status_code == 403
        assert client.post(address, {"file": SimpleUploadedFile("a.csv", SHEET.encode())}).status_code == 403
    assert club.stranger.get(address).status_code == 404
    assert club.nobody.get(address).status_code == 302
    assert club.keeper.put(address).status_code == 405
    assert not Draft.objects.exists()


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("ropes.docx", b"x", "not a kind of spreadsheet"),
        ("ropes.csv", b"", "This file is empty"),
        (None, b"", "Choose"),
    ],
)
def test_a_file_that_cannot_be_taken_is_told_beside_the_field(club: Club, name: str, data: bytes, told: str) -> None:
    files = {"file": SimpleUploadedFile(name, data)} if name else {}
    answer = club.keeper.post(f"{club.address}/import", files)
    assert answer.status_code == 400
    assert told in answer.content.decode()


def test_a_damaged_file_is_told_on_the_page_of_the_work_and_leaves_nothing(club: Club) -> None:
    before = set((Path(settings.FOLDER) / "work").glob("import-*"))
    assert bring(club, b"PK\3\4 no workbook", "ropes.xlsx") is None
    work = Work.objects.get()
    page = club.keeper.get(f"{club.address}/under-way/{work.pk}").content.decode()
    assert "ropes.xlsx" in page
    assert "Traceback" not in page
    assert f'href="{club.address}/import"' in page
    assert set((Path(settings.FOLDER) / "work").glob("import-*")) <= before


def test_doubtful_cells_are_shown_in_their_row_with_what_each_becomes(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    page = page_of(club, draft)
    assert 'name="cell-2-1" value="30/40"' in page
    assert "a range or a choice" in page
    assert "Record these 5 ropes" in page
    # Row 2 of the sheet is plain and is shown only with the whole sheet.
    assert "Sept 2019" in page
    assert 'name="without-1"' not in page
    assert 'name="without-1"' in page_of(club, draft, "?rows=all")
    assert 'name="cell-1-1" value="60m"' in page_of(club, draft, "?rows=all")
    assert 'name="cell-4-2"' not in page_of(club, draft, "?rows=length-ambiguous")
    assert not found(club)


def test_a_cell_is_corrected_in_place_and_what_was_typed_is_kept(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    send(club, draft, cell__2__1="30 m", row="2", act="read")
    page = page_of(club, draft)
    assert 'name="cell-2-1" value="30 m"' in page
    assert '<span class="struck">30/40</span>' in page
    assert "a range or a choice" not in page
    # Typed back, it is no correction any more.
    send(club, draft, cell__2__1="30/40", row="2", act="read")
    draft.refresh_from_db()
    assert draft.changed["0"]["corrected"] == {}


def test_cells_that_say_the_same_are_corrected_together(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    assert "in all 2 that say this" in page_of(club, draft)
    send(club, draft, cell__4__2="10mm B", same__4__2="on", act="read")
    assert record(club, draft).trouble == ""
    assert [each.rope_type for each in found(club)] == ["A", "A", "A", "B", "B"]


def test_a_row_is_left_out_and_taken_in_again(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    send(club, draft, row=["2", "3"], without__2="on", act="read")
    assert "Record these 4 ropes" in page_of(club, draft)
    send(club, draft, row=["2", "3"], act="read")
    assert "Record these 5 ropes" in page_of(club, draft)


def test_a_row_that_stands_for_two_ropes_gets_another_row(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    send(club, draft, row="3", again__3="on", act="read")
    assert "4, once more" in page_of(club, draft)
    send(club, draft, cell__3__0="4", cell__7__0="5", cell__7__1="22m", act="read")
    record(club, draft)
    assert [(each.rope, each.length_cm) for each in found(club)][2:] == [
        ("UG4", 2000), ("UG6", 2500), ("UG7", 3500), ("UG5", 2200)
    ]  # fmt: skip


def test_a_column_is_read_as_what_the_keeper_says(club: Club) -> None:
    draft = bring(club, "Ref,How long,Got\n1,100,2019\n2,60,2020\n")
    assert draft is not None
    send(club, draft, column__0="number", column__1="length in ft", column__2="first_used", row="0", without__0="on")
    record(club, draft)
    first = found(club)[0]
    # A foot is 0.3048 m exactly.
    assert (first.rope, first.length_cm, first.first_used, first.bought) == ("UG1", 3048, PartialDate(2019), None)


def test_the_day_the_sheet_was_right_is_the_day_of_its_ropes(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    answer = send(club, draft, as_of="the day before", cell__2__1="30 m")
    assert answer.status_code == 400  # type: ignore[attr-defined]
    page = answer.content.decode()  # type: ignore[attr-defined]
    assert 'value="the day before"' in page
    assert 'name="cell-2-1" value="30 m"' in page
    send(club, draft, as_of="Nov 2024")
    record(club, draft)
    assert {each.happened for each in found(club)} == {PartialDate(2024, 11)}


def test_a_sheet_of_a_workbook_is_chosen(club: Club, tmp_path: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    assert book.active is not None
    book.active.append(["Names", "of members"])
    ropes, old = book.create_sheet("Ropes"), book.create_sheet("Old ropes")
    for row in (["No", "Length"], [1, "20m"]):
        ropes.append(row)
    for row in (["No", "Length"], [8, "30m"], [9, "40m"]):
        old.append(row)
    book.save(tmp_path / "a.xlsx")
    draft = bring(club, (tmp_path / "a.xlsx").read_bytes(), "a.xlsx")
    assert draft is not None
    assert draft.sheet == 1
    assert "Record this rope" in page_of(club, draft)
    send(club, draft, sheet="2")
    assert "Record these 2 ropes" in page_of(club, draft)


def test_recording_is_all_at_once_and_once_only(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    before = club.events()
    work = record(club, draft)
    assert work.leads_to == f"{club.address}/import/{draft.pk}/done"
    assert [each.rope for each in found(club)] == ["UG1", "UG2", "UG8", "UG6", "UG7"]
    assert club.events() == before + 5
    # The worker may be run again after a crash, and the form may be sent again.
    Work.objects.filter(pk=work.pk).update(ended=None)
    do_work.call(work.pk)
    answer = send(club, draft, act="record", seal=work.asked["seal"])
    assert answer["Location"].endswith("/done")  # type: ignore[index]
    assert club.events() == before + 5


def test_what_was_typed_and_not_looked_at_yet_is_read_before_it_is_recorded(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    answer = send(club, draft, act="record", seal=seal_of(club, draft), cell__2__1="30 m")
    assert answer["Location"].startswith(f"{club.address}/import/{draft.pk}")  # type: ignore[index]
    page = page_of(club, draft)
    assert "What you typed was read first" in page
    assert not found(club)


def test_a_store_that_changed_meanwhile_is_looked_at_again(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    send(club, draft, act="record", seal=seal_of(club, draft))
    club.ready("UG1")
    work = Work.objects.first()
    assert work is not None
    do_work.call(work.pk)
    work.refresh_from_db()
    assert "changed meanwhile" in work.trouble
    assert not found(club)


def test_somebody_who_is_no_keeper_any_more_records_nothing(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    send(club, draft, act="record", seal=seal_of(club, draft))
    Membership.objects.filter(store=club.store, role="keeper").update(role="member")
    work = Work.objects.first()
    assert work is not None
    do_work.call(work.pk)
    work.refresh_from_db()
    assert "not a keeper" in work.trouble
    assert not found(club)


def test_a_second_import_leaves_out_what_came_in_and_says_so(club: Club) -> None:
    first = bring(club)
    assert first is not None
    send(club, first, cell__2__1="30 m", act="read")
    record(club, first)
    second = bring(club, SHEET.replace("Total", "9,50m,10mm A,2021,\nTotal"))
    assert second is not None
    page = page_of(club, second)
    assert "5 rows came in before and are left out." in page
    assert "Record this rope" in page
    third = bring(club)
    assert third is not None
    assert "All 5 rows of this sheet came in before." in page_of(club, third)
    assert "Record" not in page_of(club, third)


def test_the_last_page_says_what_is_next(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    record(club, draft)
    page = club.keeper.get(f"{club.address}/import/{draft.pk}/done").content.decode()
    assert "5 ropes stand on the sheet's word only." in page
    assert f"{club.address}/measure" in page
    assert "One rope got a new number" in page
    assert "One rope is set aside" in page
    assert club.member.get(f"{club.address}/import/{draft.pk}/done").status_code == 403


def test_columns_that_are_not_used_are_named_in_a_line_that_is_open_to_view(club: Club) -> None:
    draft = bring(club, "No,Length,Colour,Shop\n1,20m,red,there\n2,30m,blue,here\n")
    assert draft is not None
    page = page_of(club, draft)
    before_the_summary = page.split("<summary>")[0]
    assert "2 columns are not used:" in before_the_summary
    assert "C  Colour, D  Shop" in before_the_summary
    plain = bring(club, "No,Length\n1,20m\n2,30m\n")
    assert plain is not None
    assert "not used:" not in page_of(club, plain)


def test_bare_numbers_of_a_column_are_answered_at_once(club: Club) -> None:
    draft = bring(club, "No,Length\n1,20\n2,150 ft\n3,100\n")
    assert draft is not None
    page = page_of(club, draft)
    assert "Column B  Length: 2 numbers without a unit" in page
    assert 'name="bare" value="1 ft"' in page
    send(club, draft, bare="1 ft")
    page = page_of(club, draft)
    assert "without a unit" not in page
    assert "Every cell could be read." in page
    record(club, draft)
    # A foot is 0.3048 m exactly.
    assert [each.length_cm for each in found(club)] == [609, 4572, 3048]


def test_bare_numbers_taken_for_metres_can_be_said_to_be_feet(club: Club) -> None:
    draft = bring(club, "No,Length\n1,100\n2,200\n")
    assert draft is not None
    assert "They are read in m; nothing in the sheet says so." in page_of(club, draft)
    for made_up in ("1 miles", "7 ft", "ft", "x y z"):
        send(club, draft, bare=made_up)
        assert "They are read in m" in page_of(club, draft)
    send(club, draft, bare="1 ft")
    record(club, draft)
    assert [each.length_cm for each in found(club)] == [3048, 6096]


def test_a_doubt_that_is_right_goes_from_the_list_and_can_be_taken_back(club: Club) -> None:
    draft = bring(club, "No,Length\n1,~20m\n2,30m\n")
    assert draft is not None
    reading = read_draft(draft, club.register(), timezone.localdate())
    key = reading.doubts[0].key
    page = page_of(club, draft)
    assert f'name="right" value="{key}"' in page
    assert "that is right: 20 m" in page
    send(club, draft, row="1", doubt=key, right=key)
    page = page_of(club, draft)
    assert "in doubt" not in page.split("<form")[0]
    assert "Nothing is left to be looked at." in page
    assert f'value="{key}" id' not in page
    kept = page_of(club, draft, "?rows=right")
    assert "Rows you said are right" in kept
    assert f'value="{key}"' in kept
    assert " checked" in kept
    send(club, draft, row="1", doubt=key)
    assert "1 cell is in doubt" in page_of(club, draft)


def test_the_last_page_names_every_new_number(club: Club) -> None:
    draft = bring(club, "No,Length\n1,2 x 20m\n1,30m\n")
    assert draft is not None
    record(club, draft)
    page = club.keeper.get(f"{club.address}/import/{draft.pk}/done").content.decode()
    assert "2 ropes got a new number:" in page
    for number in ("UG2", "UG3"):
        assert f'href="{club.address}/ropes/{number}"' in page
    assert "Write each on both ends of its rope." in page


def test_the_last_page_speaks_of_one_rope_as_one(club: Club) -> None:
    draft = bring(club, "No,Length,State,Bought\n1,30m,purple,\n2,20m,retired,2019\n")
    assert draft is not None
    record(club, draft)
    page = club.keeper.get(f"{club.address}/import/{draft.pk}/done").content.decode()
    assert "The sheet did not say clearly that it is fit. A competent person looks at it." in page
    assert "Count off its metres; nobody knows how much it has lost." in page
    assert "Read its inner tape, or its papers." in page
    assert "they " not in page


def test_a_sheet_is_put_away(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    address = f"{club.address}/import/{draft.pk}/drop"
    assert club.member.post(address).status_code == 403
    assert club.stranger.post(address).status_code == 404
    assert "Put ropes.csv away" in club.keeper.get(address).content.decode()
    club.keeper.post(address)
    assert not Draft.objects.exists()
    assert club.keeper.get(f"{club.address}/import/{draft.pk}").status_code == 404


def test_a_draft_of_another_store_is_not_found(club: Club) -> None:
    draft = bring(club)
    assert draft is not None
    other = Store.objects.exclude(pk=club.store.pk).get()
    for where in ("", "/drop", "/done"):
        assert club.stranger.get(f"/{other.slug}/import/{draft.pk}{where}").status_code == 404
        assert club.stranger.get(f"{club.address}/import/{draft.pk}{where}").status_code == 404
        assert club.reader.get(f"{club.address}/import/{draft.pk}{where}").status_code == 403


@pytest.mark.parametrize(
    "typed",
    [
        {"cell-99999-1": "x", "row": "99999", "without-99999": "on"},
        {"cell-1-999": "x"},
        {"row": ["x", "-1", "²"], "page": "²"},
        {"column-1": "price"},
        {"sheet": "7"},
        {"again-6": "on", "row": "6"},
    ],
)
def test_made_up_fields_do_no_harm(club: Club, typed: dict[str, object]) -> None:
    draft = bring(club)
    assert draft is not None
    assert club.keeper.post(f"{club.address}/import/{draft.pk}", typed).status_code in (302, 400)
    assert club.keeper.get(f"{club.address}/import/{draft.pk}?page=²&rows=x").status_code == 200


def export(club: Club) -> bytes:
    import io

    from tethera.store.exchange import Exported, write_export
    from tethera.web.store.opened import held

    with held(club.store.pk) as opened:
        whole = Exported(tuple(opened.log.read()), opened.people.names())
    file = io.BytesIO()
    write_export(file, "jsonl", whole, ())
    return file.getvalue()


def press(club: Club, draft: Draft) -> Work:
    answer = club.keeper.post(f"{club.address}/import/{draft.pk}")
    assert "/under-way/" in answer["Location"], answer.content.decode()
    work = Work.objects.first()
    assert work is not None
    do_work.call(work.pk)
    work.refresh_from_db()
    return work


def test_an_export_of_this_very_store_has_nothing_new(club: Club) -> None:
    club.ready("UG1")
    draft = bring(club, export(club), "ug.jsonl")
    assert draft is not None
    assert "This store has all of it already." in page_of(club, draft)
    assert club.keeper.post(f"{club.address}/import/{draft.pk}").status_code == 403


def test_an_export_of_another_store_becomes_a_store_of_its_own(club: Club, make_club) -> None:  # type: ignore[no-untyped-def]
    other = make_club("xf", "XF", "Fellmoor Potholers")
    other.ready("XF1")
    draft = bring(club, export(other), "xf.jsonl")
    assert draft is not None
    page = page_of(club, draft)
    assert "Fellmoor Potholers" in page
    assert "Open it as a store of its own" in page
    work = press(club, draft)
    assert work.trouble == ""
    store = Store.objects.order_by("-pk").first()
    assert store is not None
    assert work.leads_to == f"/{store.slug}"
    keeper = Account.objects.get(email="p1@ug.invalid")
    assert Membership.objects.get(store=store, account=keeper).role == "keeper"
    assert store.length == other.events()
    assert other.stranger.get(f"/{store.slug}").status_code == 404


def test_an_export_that_goes_on_is_added(club: Club) -> None:
    club.ready("UG1")
    short = club.store
    whole = export(club)
    club.did(Washed(rope="UG1", happened=PartialDate(2025)))
    longer = export(club)
    assert whole != longer
    from tethera.web.store.models import LoggedEvent
    from tethera.web.store.opened import forget

    last = LoggedEvent.objects.filter(store=short).order_by("-number").first()
    assert last is not None
    last.delete()
    Store.objects.filter(pk=short.pk).update(length=last.number)
    forget()
    draft = bring(club, longer, "ug.jsonl")
    assert draft is not None
    assert "Add it to this store" in page_of(club, draft)
    assert press(club, draft).trouble == ""
    assert isinstance(club.log()[-1], Washed)


def test_reading_is_stopped_and_leaves_nothing(club: Club) -> None:
    club.keeper.post(f"{club.address}/import", {"file": SimpleUploadedFile("ropes.csv", SHEET.encode())})
    work, path = Work.objects.get(), Draft.objects.get().path
    assert path.is_file()
    club.keeper.post(f"{club.address}/under-way/{work.pk}")
    do_work.call(work.pk)
    work.refresh_from_db()
    assert work.state == "stopped"
    assert not Draft.objects.exists()
    assert not path.exists()


def test_a_file_that_was_never_read_is_cleared_away(club: Club) -> None:
    club.keeper.post(f"{club.address}/import", {"file": SimpleUploadedFile("ropes.csv", SHEET.encode())})
    Draft.objects.update(made=timezone.now() - timedelta(days=2))
    assert "ropes.csv" not in club.keeper.get(f"{club.address}/import").content.decode()
    assert not Draft.objects.exists()


def test_a_file_with_the_longest_name_is_read(club: Club) -> None:
    draft = bring(club, name=f"{'r' * 240}.csv")
    assert draft is not None
    assert len(draft.name) == 200


@pytest.mark.parametrize("cell", ["1e999", "9" * 5000, "\ud800".encode("utf-8", "surrogatepass")])
def test_cells_that_no_database_keeps_do_no_harm(club: Club, cell: str | bytes) -> None:
    cell = cell if isinstance(cell, bytes) else cell.encode()
    draft = bring(club, b"No,Length,Remarks\n1,30 m," + cell + b"\n2,45 m,x\n")
    assert draft is not None
    address = f"{club.address}/import/{draft.pk}"
    typed = {"row": "1", "cell-1-2": "c\x00d", "cell-1-1": "30\x00 m", "sheet": "\x00", "as_of": "\x00", "rows": "\x00"}
    assert club.keeper.post(address, typed).status_code in (302, 400)
    assert club.keeper.get(address).status_code == 200
