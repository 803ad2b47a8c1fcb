"""What is stored about oneself, taken out in one file: all of it, nothing of others, and nothing that opens a door."""

import json
import tracemalloc
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.contrib.sessions.models import Session
from django.test import Client

from tethera.store import GENESIS, Recorded, Washed, encode_recorded, linked
from tethera.web.accounts.models import Account, Invitation, Membership, PasswordLink
from tethera.web.personal.written import pieces
from tethera.web.store.models import LoggedEvent, Person, Photo, Store
from tethera.web.trips.models import Trip
from web.conftest import DAY, LONG_AGO, Club
from web.papers_of_ines import PHOTO, fill, ines, maud, other_store

ADDRESS = "/me/stored"


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, settings: Any) -> None:
    settings.FOLDER = tmp_path


def text_of(client: Client) -> str:
    answer = client.get(ADDRESS)
    assert answer.status_code == 200
    return b"".join(answer.streaming_content).decode("utf-8")  # type: ignore[arg-type]


def told_to(client: Client) -> Any:
    return json.loads(text_of(client))


def store_told(client: Client, club: Club) -> Any:
    return told_to(client)["stores"][f"{club.store.name} ({club.store.slug})"]


def test_the_page_leads_to_it(club: Club) -> None:
    page = club.member.get("/me").content.decode()
    assert f'href="{ADDRESS}" download' in page


def test_it_is_a_file_that_nobody_on_the_way_keeps(club: Club) -> None:
    answer = club.member.get(ADDRESS)
    assert answer["Content-Type"] == "application/json; charset=utf-8"
    assert answer["Content-Disposition"].startswith('attachment; filename="stored-about-me-')
    assert answer["Cache-Control"] == "no-store"
    assert int(answer["Content-Length"]) == len(b"".join(answer.streaming_content))  # type: ignore[arg-type]


def test_nobody_else_gets_it_and_it_is_only_looked_at(club: Club) -> None:
    assert club.nobody.get(ADDRESS)["Location"] == f"/sign-in?next={ADDRESS}"
    assert club.member.post(ADDRESS).status_code == 405
    with closing(club.member.head(ADDRESS)) as answer:
        assert answer.status_code == 200


def test_it_begins_with_what_is_in_it_and_its_sections_stand_in_order(club: Club) -> None:
    fill(club)
    told = told_to(club.member)
    assert list(told) == sorted(told)
    (store,) = told["stores"].values()
    assert list(store) == sorted(store)
    opening = " ".join(told["about this file"])
    for words in ("What Tethera kept about you on", "In it: your account", "Not in it: your password"):
        assert words in opening
    assert text_of(club.member).startswith('{\n "about this file": [\n  "What Tethera kept about you on')


def test_the_account_is_told_with_what_somebody_likes(club: Club) -> None:
    club.member.post("/me", {"name": "Ines Ravel", "units": "ft", "paper": "night"})
    account = told_to(club.member)["account"]
    assert (account["name"], account["address"]) == ("Ines Ravel", "p3@ug.invalid")
    assert (account["lengths in"], account["pages as"], account["open"]) == ("feet", "night", True)
    assert account["made"][:10] == f"{ines().made:%Y-%m-%d}"


def test_every_entry_that_has_ones_id_is_in_it_as_it_is_kept(club: Club) -> None:
    named = fill(club)
    entries = store_told(club.member, club)["entries of the record"]
    assert [each["number"] for each in entries] == named
    for each in entries:
        row = LoggedEvent.objects.get(store=club.store, number=each["number"])
        assert each["as kept"] == json.loads(row.body)


def test_papers_rows_and_photographs_are_in_it(club: Club) -> None:
    fill(club)
    Photo.objects.create(store=club.store, sha256=PHOTO, width=4, height=3, size=7)
    told = store_told(club.member, club)
    assert told["you here"] == {
        "as": "member", "also competent person": False, "id in the record": "p3", "name in the record": "Ines Ravel",
    }  # fmt: skip
    trips = {each["trip"]: each for each in told["trips"]}
    assert (trips["Sunday"]["you lead it"], trips["Sunday"]["you packed"]) == (True, [])
    assert trips["Monday"]["you packed"] == [{"what": "wick/UG1", "at": "09:10"}, {"what": "wick/UG3", "at": "09:14"}]
    assert (trips["Monday"]["you lead it"], set(trips)) == (False, {"Sunday", "Monday"})
    assert [each["asked"]["needs"] for each in told["lists to buy"]] == [[31]]
    assert [(each["what"], each["file"]) for each in told["long work"]] == [("Work hers", "r.txt")]
    assert [each["name"] for each in told["files brought in"]] == ["begun-hers.csv", "brought-hers.csv"]
    assert [each["name"] for each in told["invitations"]] == ["Ines Ravel"]
    assert [each["whose"] for each in told["links for a new password"]] == ["yours"]
    (photo,) = told["photographs"]
    assert (photo["name"], photo["sum"], photo["rope"], photo["bytes"]) == ("worn at the knot", PHOTO, "UG1", 7)
    assert "left out" not in told


def test_each_place_where_one_is_signed_in_is_told_without_its_key(club: Club) -> None:
    elsewhere = Client()
    elsewhere.force_login(ines())
    text = text_of(club.member)
    assert len(json.loads(text)["open sessions"]) == 2
    assert not any(each.session_key in text or each.session_data in text for each in Session.objects.all())


def test_nothing_of_others_and_nothing_that_opens_a_door_is_in_it(club: Club) -> None:
    fill(club)
    text = text_of(club.member)
    for words in ("Maud", "Tobias", "Bronwen", "Olaf", "Otto Fremd", "Fellmoor", "@ug.invalid"):
        assert words not in text.replace("p3@ug.invalid", ""), words
    for words in ("of others alone", "Work his", "begun-his", "Tuesday", "Elsewhere", "123457", "wick/UG2", "cell"):
        assert words not in text, words
    secrets = [each.password for each in Account.objects.all()]
    secrets += [each.calendar_key for each in Store.objects.all()]
    secrets += [each.sum for model in (Invitation, PasswordLink) for each in model.objects.all()]  # type: ignore[attr-defined]
    secrets += [each.value for each in club.member.cookies.values()]
    assert not [each for each in secrets if each in text]


def test_each_store_is_told_by_the_id_one_has_there(club: Club) -> None:
    fill(club)
    other = other_store(club)
    Membership.objects.create(account=ines(), store=other, role="reader", person="p2")
    Person.objects.create(store=other, key="p2", name="Ines Ravel")
    told = told_to(club.member)["stores"]
    assert list(told) == ["Ulvergarth Caving Club (ug)", "Fellmoor Potholers (ug-other)"]
    there = told["Fellmoor Potholers (ug-other)"]
    assert [each["trip"] for each in there["trips"]] == ["Elsewhere"]
    assert there["entries of the record"] == []
    assert (there["you here"]["id in the record"], there["you here"]["as"]) == ("p2", "reader")


def test_who_has_the_name_of_somebody_else_is_told_what_is_left_out(club: Club) -> None:
    fill(club)
    Account.objects.filter(pk=maud().pk).update(name="Ines  ravel")
    told = store_told(club.member, club)
    assert "Somebody else here is called Ines Ravel too" in told["left out"]
    # What has her id goes by it; what has only the name is nobody's.
    assert [each["you packed"] for each in told["trips"]] == [[{"what": "wick/UG3", "at": "09:14"}]]
    assert (told["lists to buy"], told["invitations"]) == ([], [])
    assert len(told["long work"]) == 1


def test_an_entry_that_cannot_be_read_is_told_on_a_page_and_no_half_file_is_sent(club: Club) -> None:
    named = fill(club)
    LoggedEvent.objects.filter(store=club.store, number=named[-1]).update(body='{"by": "p3"')
    answer = club.member.get(ADDRESS)
    assert answer.status_code == 500
    assert "The record is damaged" in answer.content.decode()
    assert f"Event {named[-1]} of the log cannot be read" in answer.content.decode()


def test_a_long_record_is_not_held_in_memory(club: Club) -> None:
    events = [Recorded(Washed(rope="UG1", happened=DAY, note="w" * 400), LONG_AGO, "p3")] * 8000
    rows = (
        LoggedEvent(store=club.store, number=1 + number, body=json.dumps(encode_recorded(each)))
        for number, each in enumerate(linked(events, GENESIS))
    )
    LoggedEvent.objects.bulk_create(rows, batch_size=1000)
    club.member.get("/me")
    tracemalloc.start()
    answer = club.member.get(ADDRESS)
    _now, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert int(answer["Content-Length"]) > 4_000_000
    assert peak < 2_500_000
    answer.close()


def test_json_is_written_as_it_is_read_back() -> None:
    told = {"a": {"b": [1, {"c": "two\nlines"}], "d": {}}, "e": "ß", "f": [], "g": None}
    assert json.loads("".join(pieces(told))) == told
    assert json.loads("".join(pieces({"a": iter([told, 2]), "b": iter(())}))) == {"a": [told, 2], "b": []}
    half = "".join(pieces(iter(["\ud800"]))).encode("utf-8", "backslashreplace")
    assert json.loads(half) == ["\ud800"]


def test_every_field_of_an_account_is_told_or_left_out_for_a_reason() -> None:
    """A new field of accounts goes into personal/stored.py, or here with the reason."""
    told = {"email", "last_login", "units", "made", "name", "is_active", "paper"}
    left_out = {"id": "says nothing", "password": "a sum that nobody can read, and that is nobody's to have"}
    assert {each.name for each in Account._meta.concrete_fields} == told | set(left_out)


def test_every_model_that_hangs_on_an_account_is_told() -> None:
    """A new model goes into personal/papers.py, and what forgetting does with it into personal/forgetting.py."""
    hanging = {
        each._meta.label
        for each in apps.get_models()
        for field in each._meta.concrete_fields
        if field.related_model is Account
    }
    assert hanging == {
        "accounts.Membership", "accounts.Invitation", "accounts.PasswordLink", "work.Work", "importing.Draft",
    }  # fmt: skip


def test_a_tick_is_kept_with_the_id_of_who_ticked(club: Club) -> None:
    fill(club)
    trip = Trip.objects.get(name="Tuesday")
    club.member.post(f"{club.address}/trips/{trip.pk}/bags", {"what": "wick/UG1", "in": "1"})
    trip.refresh_from_db()
    assert (trip.packed["wick/UG1"]["by"], trip.packed["wick/UG1"]["person"]) == ("Ines Ravel", "p3")
