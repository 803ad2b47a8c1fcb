"""Which ropes are as somebody wants them, and which may be, because what is asked is not known of them."""

from collections.abc import Callable, Iterable, Iterator
from datetime import timedelta
from typing import Any

from tethera.web.ropes.list_rows import Row
from tethera.web.ropes.list_wanted import UNSAID, WantedForm

#: An examination counts as due from this long before its day.
DUE_SOON = timedelta(days=30)
#: True, False, or None where it is not known.
Check = Callable[[Row], bool | None]


def matching(rows: Iterable[Row], wanted: WantedForm, number: str | None = None) -> tuple[list[Row], list[Row]]:
    """The rows that somebody wants, and those that may be among them; `number` is the rope meant by their words."""
    checks = [*_length(wanted), *_age(wanted), *_named(wanted), *_chosen(wanted)]
    words = str(wanted.told("q") or "").casefold().split()
    found: list[Row] = []
    perhaps: list[Row] = []
    for row in rows:
        answers = {check(row) for check in checks}
        if False in answers or (words and row.id != number and not _has(row, words)):
            continue
        (perhaps if None in answers else found).append(row)
    return found, perhaps


def _has(row: Row, words: list[str]) -> bool:
    text = f" {row.searched}"
    # One or two letters are in almost every text; they must begin a word.
    return all((word if len(word) > 2 else f" {word}") in text for word in words)


def _between(low: Any, high: Any, least: Any, most: Any) -> bool | None:
    """Whether something known as `low` to `high` can lie between `least` and `most`."""
    if low is None or high is None:
        return None
    return (least is None or high >= least) and (most is None or low <= most)


def _length(wanted: WantedForm) -> Iterator[Check]:
    least, most = wanted.told("length_from"), wanted.told("length_to")
    if least is not None or most is not None:
        yield lambda row: _between(row.state.length_cm, row.state.length_cm, least, most)


def _age(wanted: WantedForm) -> Iterator[Check]:
    least, most = wanted.told("age_from"), wanted.told("age_to")
    if least is not None or most is not None:
        yield lambda row: None if row.years is None else _between(row.years[0], row.years[1], least, most)


def _named(wanted: WantedForm) -> Iterator[Check]:
    if maker := str(wanted.told("maker") or "").casefold():
        yield lambda row: None if row.state.maker is None else maker in row.state.maker.casefold()
    if batch := str(wanted.told("batch") or "").casefold():
        yield lambda row: None if row.state.batch is None else batch in row.state.batch.casefold()
    if made := wanted.told("made"):
        yield lambda row: None if row.state.year_made is None else row.state.year_made == made
    if mm := wanted.told("mm"):
        yield lambda row: None if row.state.diameter_mm is None else row.state.diameter_mm == mm


def _chosen(wanted: WantedForm) -> Iterator[Check]:
    states, kinds, doubt = wanted.told("state"), wanted.told("kind"), wanted.told("doubt")
    if states:
        yield lambda row: row.state.state in states
    if kinds:
        yield lambda row: (row.state.rope_type or UNSAID) in kinds
    if doubt:
        yield lambda row: bool(row.doubts) if doubt == "any" else doubt in row.doubts
    if wanted.told("due"):
        yield _is_due


def _is_due(row: Row) -> bool:
    due = row.state.next_due
    return due is not None and row.state.state != "retired" and due.latest <= row.on + DUE_SOON
