"""Bringing a store in, looking at it, recording what was done."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tethera.basics import PartialDate
from tethera.cli import places
from tethera.store import Corrected, StoreDescribed, Washed

Run = Callable[..., Any]


def test_a_dry_run_shows_every_doubtful_cell_and_records_nothing(tethera: Run, folder: Path) -> None:
    ran = tethera("import", "ropes.csv", "--code", "QT", "--dry-run")
    assert ran.status == 0
    assert "B4" in ran.out
    assert "30/40" in ran.out
    assert "D6" in ran.out
    assert "Nothing recorded" in ran.out
    assert not (folder / "store").exists()


def test_a_new_store_needs_its_letters(tethera: Run) -> None:
    ran = tethera("import", "ropes.csv")
    assert ran.status == 2
    assert "--code" in ran.err


def test_an_imported_store_lists_its_ropes_with_lengths_in_capsules(store: Run) -> None:
    ran = store("ropes")
    assert ran.status == 0
    assert "QT1" in ran.out
    assert "(60 m)" in ran.out
    assert "(30.48 m)" in ran.out  # 100 ft, exactly
    assert max(len(line) for line in ran.out.splitlines()) <= 80
    by_rope = {rope["rope"]: rope for rope in store("ropes", "--json").json}
    assert by_rope["QT3"]["length_cm"] is None
    assert by_rope["QT3"]["findings"]
    assert by_rope["QT6"]["state"] == "retired"
    assert by_rope["QT5"]["bought"] == "2021"


def test_words_narrow_the_list_to_ropes_that_have_them_all(store: Run) -> None:
    ropes = store("ropes", "ready", "9mm", "--json").json
    assert [rope["rope"] for rope in ropes] == ["QT5"]


def test_measuring_replaces_the_sheets_length_and_keeps_the_whole_life(store: Run) -> None:
    ran = store("record", "measured", "1", "length=55.87m", "counts=55.87m,55.9m", "--by", "Maud")
    assert ran.status == 0
    told = store("rope", "QT1", "--json").json
    assert told["length_cm"] == 5587
    assert [event["what"] for event in told["life"]] == ["recorded-as-found", "measured"]
    assert "Maud" not in str(told)  # the record holds a number, the name lies beside it


def test_a_cut_gives_both_pieces_new_numbers_and_the_old_rope_its_end(store: Run) -> None:
    ran = store("record", "cut", "2", "into=25m,18.5m", "reason=flat spot at 25 m", "--json")
    assert ran.json["ropes"] == ["QT2", "QT10", "QT11"]
    by_rope = {rope["rope"]: rope for rope in store("ropes", "--json").json}
    assert by_rope["QT2"]["state"] == "retired"
    assert by_rope["QT10"]["length_cm"] == 2500
    assert by_rope["QT11"]["cut_from"] == "QT2"
    assert by_rope["QT11"]["maker"] == "Maker A"


def test_a_declaration_that_lacks_something_is_refused_with_the_list(store: Run) -> None:
    store("record", "bought", "length=50m", "diameter=10", "type=A")
    ran = store("record", "put-into-service", "QT10")
    assert ran.status == 1
    assert "QT10 cannot be put into service yet" in ran.err
    assert "–" in ran.err


def test_an_unknown_rope_names_the_nearest(store: Run) -> None:
    ran = store("record", "washed", "QT77")
    assert ran.status == 2
    assert "QT7" in ran.err


def test_an_unknown_event_names_the_nearest_and_an_unknown_detail_those_there_are(store: Run) -> None:
    assert "measured" in store("record", "mesured", "QT1").err
    ran = store("record", "washed", "QT1", "heat=60")
    assert ran.status == 2
    assert "temperature" in ran.err


def test_a_detail_of_the_wrong_kind_says_what_was_expected(store: Run) -> None:
    assert "two ropes" in store("record", "measured", "QT1", "length=30/40").err
    assert "machine" in store("record", "washed", "QT1", "how=boiled").err
    assert "yes or no" in store("record", "returned", "QT1", "clean=perhaps").err
    assert "needs length" in store("record", "measured", "QT1").err


def test_all_that_can_be_recorded_is_listed_with_its_details(store: Run) -> None:
    ran = store("record")
    assert "put-into-service" in ran.out
    assert "set-aside" in ran.out
    assert max(len(line) for line in ran.out.splitlines()) <= 80


def test_several_ropes_are_recorded_all_or_none(store: Run) -> None:
    assert store("record", "washed", "1", "2", "99").status == 2
    life = store("rope", "1", "--json").json["life"]
    assert "washed" not in [event["what"] for event in life]


def test_a_missing_store_says_how_to_make_one(tethera: Run) -> None:
    ran = tethera("ropes")
    assert ran.status == 2
    assert "tethera import" in ran.err


def test_a_file_that_is_no_spreadsheet_ends_in_one_clear_line(tethera: Run, folder: Path) -> None:
    (folder / "page.xls").write_text("<html><body>not a spreadsheet</body></html>", encoding="utf-8")
    ran = tethera("import", "page.xls", "--code", "QT")
    assert ran.status == 2
    assert len(ran.err.strip().splitlines()) == 1


def test_a_correction_strikes_an_event_and_the_record_still_shows_it(store: Run) -> None:
    store("record", "retired", "1", "reason=wrong rope in hand")
    life = store("rope", "1", "--json").json["life"]
    number = str(life[-1]["number"])
    assert f"{number}  " in store("rope", "1").out
    assert store("record", "corrected", f"event={number}", "reason=it was QT4").status == 0
    told = store("rope", "1", "--json").json
    assert told["state"] == "ready"
    assert [event["what"] for event in told["life"]][:2] == ["recorded-as-found", "retired"]


def test_a_length_below_zero_is_refused_but_for_what_was_short_at_the_foot(store: Run) -> None:
    assert store("record", "measured", "1", "length=-4m").status == 2
    assert store("record", "used", "1", "left-over=-1.5m").status == 0
    assert "(1.5 m) was short at the foot" in " ".join(store("rope", "1").out.split())


def test_numbers_may_say_their_unit(store: Run) -> None:
    assert store("record", "weighed", "1", "mass=3.9kg").status == 0
    life = store("rope", "1", "--json").json["life"]
    assert life[-1]["mass_g"] == 3900


def test_other_letters_for_a_store_that_has_its_own_are_refused(store: Run) -> None:
    ran = store("import", "ropes.csv", "--code", "ZZ")
    assert ran.status == 2
    assert "QT" in ran.err


def test_a_detail_that_a_cut_does_not_take_is_told_and_nothing_is_cut(store: Run) -> None:
    ran = store("record", "cut", "2", "into=20m,20m", "on=2026-01-02")
    assert ran.status == 2
    assert "--on" in ran.err
    assert store("rope", "2", "--json").json["state"] == "ready"


def test_a_life_is_told_in_sentences_and_shows_what_was_first_written(store: Run, folder: Path) -> None:
    store("record", "washed", "1", "how=machine", "temperature=30", "--on", "2026-11-20")
    register = places.open_store(str(folder / "store")).register
    number, day = len(register) - 1, PartialDate(2026, 11, 21)
    bath = Washed(rope="QT1", happened=day, how="bath")
    wrong = Corrected(happened=day, event=number, reason="it was a bath", replacement=bath)
    register.record(wrong, recorded=datetime(2026, 11, 25, 9, tzinfo=UTC))
    told = " ".join(store("rope", "1").out.split())
    first = "first written: 20 Nov 2026: Washed in the machine at 30 °C."
    assert f"{number} 21 Nov 2026 Washed in a bath. — corrected (it was a bath); {first}" in told
    life = [each for each in store("rope", "1", "--json").json["life"] if each["number"] == number]
    assert [(each["how"], each["struck"]) for each in life] == [("machine", "it was a bath"), ("bath", None)]


def test_one_rope_says_when_it_must_be_examined_by_the_stores_interval(store: Run, folder: Path) -> None:
    register = places.open_store(str(folder / "store")).register
    now = datetime(2026, 11, 25, 9, tzinfo=UTC)
    described = StoreDescribed(happened=PartialDate.of(places.today()), code="QT", inspection_months=6)
    register.record(described, recorded=now)
    store("record", "inspected", "1", "outcome=fit", "--on", "2026-08-31")
    told = store("rope", "1", "--json").json
    assert (told["next_due"], told["examination_due"]) == (None, "2027-02-28")
    assert "next due      28 Feb 2027" in store("rope", "1").out
