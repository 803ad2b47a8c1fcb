"""Settings: the store's rules, since when each holds, the calendar's address, and taking the store away."""

import json
import re
import zipfile
from pathlib import Path

import pytest
from django.conf import settings

from tethera.basics import PartialDate
from tethera.store import StoreDescribed
from tethera.store.exchange import form_of
from tethera.web.accounts.models import Account, Membership
from tethera.web.rules.since import rules_since
from tethera.web.store.models import Store
from tethera.web.work.doing import do_work
from tethera.web.work.models import Work
from web.conftest import DAY, Club

RULES = {"owner": "Ulvergarth Caving Club", "code": "UG"}


def settings_page(club: Club) -> str:
    return club.keeper.get(f"{club.address}/settings").content.decode()


def last(club: Club) -> StoreDescribed:
    event = club.log()[-1]
    assert isinstance(event, StoreDescribed)
    return event


def test_only_keepers_see_and_change_the_rules(club: Club) -> None:
    before = club.events()
    for client in (club.competent, club.member, club.reader):
        assert client.get(f"{club.address}/settings").status_code == 403
        assert client.post(f"{club.address}/settings", RULES | {"age_limit_years": "8"}).status_code == 403
        assert client.post(f"{club.address}/settings/calendar").status_code == 403
        assert client.post(f"{club.address}/settings/take-away", {"form": "csv"}).status_code == 403
    assert club.stranger.post(f"{club.address}/settings", RULES).status_code == 404
    assert club.keeper.get(f"{club.address}/settings/calendar").status_code == 405
    assert club.keeper.get(f"{club.address}/settings/take-away").status_code == 405
    assert club.events() == before


def test_a_keeper_changes_the_rules_and_all_of_them_are_written(club: Club) -> None:
    told = RULES | {
        "owner": "  Ulvergarth   Cavers ",
        "age_limit_years": "10",
        "inspection_months": "6",
        "label_keeps_back_percent": "5",
        "knots": ["butterfly", "figure nine on the bight"],
    }
    answer = club.keeper.post(f"{club.address}/settings", told)
    assert answer["Location"] == f"{club.address}/settings"
    event = last(club)
    assert (event.owner, event.code, event.age_limit_years, event.inspection_months) == (
        "Ulvergarth Cavers",
        "UG",
        10,
        6,
    )
    assert (event.label_keeps_back_percent, event.knots) == (5, "figure nine on the bight, butterfly")
    assert Store.objects.get(pk=club.store.pk).name == "Ulvergarth Cavers"
    page = settings_page(club)
    assert "These rules hold from today." in page
    assert 'value="10"' in page
    assert re.search(r'value="butterfly"[^>]*checked', page)
    assert page.count("Maud Ellerbeck") > 4


def test_what_is_left_empty_is_no_rule_any_more(club: Club) -> None:
    club.keeper.post(f"{club.address}/settings", RULES | {"age_limit_years": "10"})
    club.keeper.post(f"{club.address}/settings", RULES)
    assert last(club).age_limit_years is None
    assert last(club).label_keeps_back_percent == 0


def test_nothing_is_written_where_nothing_was_changed(club: Club) -> None:
    before = club.events()
    club.keeper.post(f"{club.address}/settings", RULES)
    assert "Nothing was changed." in settings_page(club)
    assert club.events() == before


def test_sent_twice_it_is_written_once(club: Club) -> None:
    before = club.events()
    for _ in range(2):
        club.keeper.post(f"{club.address}/settings", RULES | {"age_limit_years": "9", "once": "t1"})
    assert club.events() == before + 1


@pytest.mark.parametrize(
    ("field", "typed"),
    [("age_limit_years", "old"), ("age_limit_years", "0"), ("inspection_months", "-1"), ("code", "U1"), ("owner", " "),
     ("label_keeps_back_percent", "31"), ("knots", "granny")],
)  # fmt: skip
def test_what_cannot_be_a_rule_is_told_beside_it_and_stays_typed(club: Club, field: str, typed: str) -> None:
    before = club.events()
    answer = club.keeper.post(f"{club.address}/settings", RULES | {"inspection_months": "7", field: typed})
    assert answer.status_code == 400
    page = answer.content.decode()
    assert f'id="id_{field}_error"' in page
    if field not in ("knots", "owner"):
        assert f'value="{typed}"' in page
    assert club.events() == before


def test_the_letters_are_fixed_once_there_is_a_rope(club: Club) -> None:
    club.keeper.post(f"{club.address}/settings", RULES | {"code": "uc"})
    assert last(club).code == "UC"
    club.ready("UC1")
    assert "Fixed: there are ropes" in settings_page(club)
    club.keeper.post(f"{club.address}/settings", RULES | {"code": "XX", "age_limit_years": "12"})
    assert (last(club).code, last(club).age_limit_years) == ("UC", 12)


def test_rules_that_somebody_else_changed_meanwhile_are_looked_at_again(club: Club) -> None:
    known = re.search(r'name="known" value="(\d+)"', settings_page(club))
    assert known is not None
    club.keeper.post(f"{club.address}/settings", RULES | {"age_limit_years": "8"})
    answer = club.keeper.post(f"{club.address}/settings", RULES | {"inspection_months": "6", "known": known[1]})
    assert answer.status_code == 400
    assert "Somebody changed the rules meanwhile" in answer.content.decode()
    assert last(club).age_limit_years == 8
    assert 'name="inspection_months" value="6"' in answer.content.decode()


def test_the_page_shows_what_a_mark_says_of_a_measured_length(club: Club) -> None:
    # 29.40 m: nothing kept back 29 m; 95 % of it is 27.93 m, 90 % is 26.46 m; whole metres below those.
    page = " ".join(re.sub(r"<[^>]+>", " ", settings_page(club)).split())
    assert "29.4 m measured: with 0 % kept back the mark says 29 m" in page.replace("\u202f", " ")
    assert "with 5 % kept back the mark says 27 m" in page.replace("\u202f", " ")
    assert "with 10 % kept back the mark says 26 m" in page.replace("\u202f", " ")


def test_each_rule_tells_since_when_it_holds_and_by_whom(club: Club) -> None:
    from dataclasses import replace

    first = club.log()[0]
    assert isinstance(first, StoreDescribed)
    second = replace(first, happened=PartialDate(2025, 3, 1), age_limit_years=10)
    club.did(second)
    club.did(replace(second, happened=PartialDate(2025, 6, 1), inspection_months=6), by="p2")
    from tethera.web.store.opened import held

    with held(club.store.pk) as opened:
        since = rules_since(opened.log.read(), opened.register.stands)
    assert {name: (each.day, each.by) for name, each in since.items()} == {
        "owner": (DAY, "p1"),
        "code": (DAY, "p1"),
        "age_limit_years": (PartialDate(2025, 3, 1), "p1"),
        "inspection_months": (PartialDate(2025, 6, 1), "p2"),
    }


def test_the_calendar_gets_a_new_address(club: Club) -> None:
    before = club.store.calendar_key
    assert before in settings_page(club)
    for _ in range(2):
        club.keeper.post(f"{club.address}/settings/calendar", {"once": "t"})
    fresh = Store.objects.get(pk=club.store.pk).calendar_key
    assert fresh != before
    assert f"/calendar/{fresh}.ics" in settings_page(club)


def taken_away(club: Club, form: str) -> Work:
    answer = club.keeper.post(f"{club.address}/settings/take-away", {"form": form})
    assert "/under-way/" in answer["Location"]
    work = Work.objects.first()
    assert work is not None
    do_work.call(work.pk)
    work.refresh_from_db()
    return work


@pytest.mark.parametrize("form", ["jsonl", "xlsx", "csv"])
def test_the_whole_store_is_taken_away_in_one_file(club: Club, form: str) -> None:
    club.ready("UG1")
    work = taken_away(club, form)
    assert work.trouble == ""
    answer = club.keeper.get(f"{club.address}/under-way/{work.pk}/file")
    data = b"".join(answer.streaming_content)  # type: ignore[attr-defined]
    assert answer["Content-Disposition"].startswith('attachment; filename="ug-')
    path = Path(settings.FOLDER) / "got"
    path.write_bytes(data)
    with path.open("rb") as file:
        assert form_of(file) == form
    path.unlink()
    assert club.member.get(f"{club.address}/under-way/{work.pk}/file").status_code == 404


def test_a_backup_holds_everything_and_only_who_keeps_every_store_makes_it(club: Club) -> None:
    assert "Who looks after the machine makes it." in settings_page(club)
    assert club.keeper.post(f"{club.address}/settings/take-away", {"form": "backup"}).status_code == 403
    # Somebody who kept them all when they asked, and does not any more, gets nothing.
    keeper = Account.objects.get(email="p1@ug.invalid")
    other = Store.objects.exclude(pk=club.store.pk).get()
    mine = Membership.objects.create(account=keeper, store=other, role="keeper", person="p9")
    work = taken_away(club, "backup")
    assert work.trouble == ""
    assert work.file_name.startswith("tethera-backup-")
    with zipfile.ZipFile(Path(settings.FOLDER) / "work" / str(work.pk)) as archive:
        assert {each["slug"] for each in json.loads(archive.read("manifest.json"))["stores"]} == {"ug", "ug-other"}
    club.keeper.post(f"{club.address}/settings/take-away", {"form": "backup"})
    mine.delete()
    late = Work.objects.first()
    assert late is not None
    do_work.call(late.pk)
    late.refresh_from_db()
    assert "do not keep" in late.trouble


def test_a_form_that_is_none_is_told(club: Club) -> None:
    answer = club.keeper.post(f"{club.address}/settings/take-away", {"form": "pdf"})
    assert answer.status_code == 400
    assert "Choose one of the forms" in answer.content.decode()


def test_a_store_gives_its_short_name_letters_its_ends_and_writes_down_its_own_bands(club: Club) -> None:
    assert 'placeholder="UCC"' in settings_page(club)
    bands = "30 to 39 m: yellow\r\n40 to 49 m: red and white"
    told = RULES | {"owner_short": " Ulver  CC ", "ends_lettered": "on", "bands": bands}
    assert club.keeper.post(f"{club.address}/settings", told).status_code == 302
    event = last(club)
    assert (event.owner_short, event.ends_lettered) == ("Ulver CC", True)
    assert event.bands == "30 to 39 m: yellow\n40 to 49 m: red and white"
    page = settings_page(club)
    assert "30 to 39 m: yellow" in page
    assert re.search(r'name="ends_lettered"[^>]*checked', page)
    club.keeper.post(f"{club.address}/settings", RULES)
    assert (last(club).owner_short, last(club).ends_lettered, last(club).bands) == ("", False, "")


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("10 to 19 m: red\r\nyellow", "Line 2, “yellow”: write lengths, a colon, the colours"),
        ("10 to 19 m: red\r\n15 to 25 m: blue", "Line 2: 15 m has a band already, red."),
        ("39 to 30 m: red", "Line 1: 39 to 30 m runs backwards."),
    ],
)
def test_a_band_that_cannot_be_right_is_told_by_its_line_and_all_of_it_stays_typed(
    club: Club, typed: str, told: str
) -> None:
    before = club.events()
    answer = club.keeper.post(f"{club.address}/settings", RULES | {"bands": typed})
    assert answer.status_code == 400
    page = answer.content.decode()
    assert 'id="id_bands_error"' in page
    assert told in page
    assert typed.split("\r\n")[-1] in page
    assert club.events() == before
