"""Whatever is asked for or sent to any address, a page answers: never a traceback, never words for programmers."""

import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from effort import at_most
from tethera.web.store.opened import forget
from web.conftest import Club
from web.furnished import furnish
from web.permissions import IN_A_STORE, OUTSIDE
from web.test_permissions import _of

#: What Python says of a value it cannot read, and no page should.
_FOR_PROGRAMMERS = re.compile(
    r"Traceback|invalid literal|could not convert|has no attribute|not subscriptable|unpack|isoformat|strptime|"
    r"time data|codec can|out of range|NoneType|KeyError|base 10|embedded null|list index|unsupported operand|"
    r"unhashable|object is not|positional argument|must be of type|mistake of its own"
)
_ODD = (
    *(
        "",
        " ",
        "0",
        "-1",
        "1",
        "99999999999999999999",
        "1e999",
        "nan",
        "inf",
        "½",
        "٣",
        "²",
        "\x00",
        "\ud800",
        "'",
        '"',
    ),
    *(
        "<script>alert(1)</script>",
        "{{ 7*7 }}",
        "%s%n",
        "../../etc/passwd",
        "=1+1",
        "a" * 5000,
        "2026-02-30",
        "9999-12-31",
    ),
    *("0001-01-01", "31 Dec 9999", "UG1", "UG1 UG1 UG999", "tallow-hole", "30 m", "30/40", "1,2,3", "[]", "{}", "null"),
    *("on", "record", "keep", "İ", "\u202e", "p1", "\n", "\t;,|", "true", "washed", "xlsx", "jsonl", "a4", "12.5"),
)
#: Six times what the longest of these takes, the page of an inspection.
_MOST_CALLS = 900_000
_TRIES = 12


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, settings: Any) -> None:
    settings.FOLDER = tmp_path


def _names(html: str) -> list[str]:
    """The fields of a page, and what their choices are sent as."""
    return sorted(set(re.findall(r'\bname="([^"]{1,60})"', html)) - {"csrfmiddlewaretoken"})


def _values(html: str) -> list[str]:
    return sorted(set(re.findall(r'\bvalue="([^"]{1,80})"', html)))


@st.composite
def _forms(draw: st.DrawFn, names: list[str], values: list[str]) -> dict[str, Any]:
    """Some of the fields with what they offer, what is odd, or what nobody would type; sometimes a file."""
    value = st.sampled_from((*_ODD, *values)) | st.text(max_size=20)
    chosen = draw(st.lists(st.sampled_from((*names, "act", "rope", "q", "page", "sort")), max_size=12, unique=True))
    form: dict[str, Any] = {name: draw(value | st.lists(value, max_size=3)) for name in chosen}
    if draw(st.integers(0, 3)) == 0:
        name = draw(st.sampled_from(("file", "photos", "photo", "sheet")))
        content = draw(st.binary(max_size=60))
        form[name] = SimpleUploadedFile(draw(st.sampled_from(("a.csv", "a.xlsx", "a.toml", "a.jpg", "a"))), content)
    return form


def _sendable(form: dict[str, Any]) -> dict[str, Any]:
    """Half a letter cannot be sent at all."""

    def plain(value: Any) -> Any:
        if isinstance(value, list):
            return [plain(each) for each in value]
        return value.encode("utf-8", "replace").decode() if isinstance(value, str) else value

    return {name: plain(value) for name, value in form.items()}


def _answers(client: Client, address: str, form: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    told = _sendable(form)
    asked = {name: value for name, value in told.items() if isinstance(value, str | list)}
    for method, sent in (("get", asked), ("post", told)):
        with at_most(_MOST_CALLS):
            answer = getattr(client, method)(address, sent)
        yield method, answer


@pytest.mark.parametrize("name", sorted((IN_A_STORE | OUTSIDE).keys() - {"sign-out"}))
def test_whatever_is_asked_or_sent_a_page_answers(club: Club, name: str) -> None:
    told = furnish(club)
    address = _of(name, told, (IN_A_STORE | OUTSIDE)[name][0], club.store.slug if name in IN_A_STORE else None)
    client = club.competent if name == "inspect-rope" else club.keeper
    first = client.get(address)
    shown = b"".join(first.streaming_content) if first.streaming else first.content
    html = shown.decode("utf-8", "replace") if "html" in first.get("Content-Type", "") else ""
    first.close()
    # Which tries are made depends on the address alone.
    seed = random.Random(name).randrange(1000)

    @settings(
        max_examples=_TRIES, deadline=None, database=None, derandomize=True, suppress_health_check=list(HealthCheck)
    )
    @given(_forms(_names(html), _values(html)), st.just(seed))
    def tried(form: dict[str, Any], _seed: int) -> None:
        with transaction.atomic():
            for method, answer in _answers(client, address, form):
                assert answer.status_code < 500, (method, form)
                if "html" in answer.get("Content-Type", "") and not answer.streaming:
                    said = re.sub(r"(?s)<(textarea|option|input)[^>]*>", "", answer.content.decode())
                    found = _FOR_PROGRAMMERS.search(said)
                    assert found is None, (method, form, said[max(found.start() - 200, 0) : found.end() + 100])
                answer.close()
            transaction.set_rollback(True)
        forget()

    tried()


@settings(max_examples=100, deadline=None, database=None)
@given(path=st.text(max_size=40), query=st.text(max_size=40))
@pytest.mark.django_db
def test_an_address_typed_at_random_is_answered(path: str, query: str) -> None:
    from urllib.parse import quote

    address = f"/{quote(path.encode('utf-8', 'replace'))}?{quote(query.encode('utf-8', 'replace'), safe='=&;%')}"
    answer = Client().get(address.replace("//", "/"))
    assert answer.status_code in (200, 302, 400, 404)
