"""The record of a rope, or of a whole store, for whoever must see it: A4, each rope on a page of its own.

What a record of equipment holds, after EN 365 (its list of fields from memory): what the rope is, each examination
with who signed it, and everything that happened. A correction shows what was written and what stands.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from tethera.labels import record_parts, symbols
from tethera.labels.columns import Column, Table
from tethera.labels.days import spoken_date
from tethera.labels.facts import Facts
from tethera.labels.flow import A4, Flow, fitted, title_block
from tethera.labels.fonts import legible, legible_values, width_mm
from tethera.labels.page import Page, Text, break_lines, leading_mm, rich, set_line
from tethera.labels.pdf import pages_to_pdf

#: At the foot of every page.
CAUTIONS = (
    "A competent person decides whether a rope may be used, after the maker's leaflet and local law. This record says "
    "nothing on whether it is safe. A length that was not measured is an estimate, and rope goes on shrinking in use."
)
_FOOT_PT = 8.5
_LETTERS = (
    "Each ? in square brackets stands for a letter that the printed typeface does not have; the rope's page on the "
    "screen shows it."
)


def record_pdf(records: Sequence[Facts], store_name: str, printed_on: date, proof: str = "") -> bytes:
    """The records of these ropes as a PDF, the same bytes each time; with a list of them when there is more than one.

    A record is {rope, state, length_cm, marked_m, last_examined, next_due, facts, examinations, life, findings,
    photos, lacking}: facts are (label, value or None); an examination is {date, reason, found, details, person,
    next_due, outcome}; a line of life {date, words, recorded, by, was, reason, struck}, and may say
    `was_date`, `corrected` and `corrected_by`; a finding {message, way_out}; a photo {title, date, jpeg}. Anything may
    be missing or None. `proof` is a sentence for the foot of every page, with the head of the record.
    """
    pages, places = record_pages(records, store_name, printed_on, proof)
    name = legible(store_name)
    title = f"Record of rope {records[0].get('rope')}" if len(records) == 1 else f"Record of {len(records)} ropes"
    return pages_to_pdf(pages, title=f"{title}, {name}", subject="Equipment record", places=places)


def record_pages(
    records: Sequence[Facts], store_name: str, printed_on: date, proof: str = ""
) -> tuple[Sequence[Page], list[tuple[str, int]]]:
    """The pages before they become a file, and on which page (from 0) each rope begins."""
    flow = RecordFlow(legible(store_name) or "Store without a name")
    shown = [legible_values(record) for record in records]
    if len(records) != 1:
        _title(flow, shown, printed_on)
    # Pages are known only when all is set: they are written into the list afterwards.
    rows = _list(flow, shown) if len(records) > 1 else []
    places: list[tuple[str, int]] = []
    for before, record in zip(records, shown, strict=True):
        flow.begin(str(record.get("rope") or "no number"))
        places.append((f"Rope {flow.rope}", len(flow.pages) - 1))
        record_parts.rope_record(flow, record, printed_on)
        if _loses_letters(before):
            flow.gap(3.0)
            flow.say(rich(_LETTERS), 9)
    for (page, baseline), (_, begins) in zip(rows, places, strict=bool(rows)):
        number = str(begins + 1)
        flow.pages[page].add(Text(A4.right - width_mm(number, 9.5), baseline, number, 9.5))
    printed = f"Printed {spoken_date(printed_on)}"
    return flow.finish(f"{printed}. {proof}" if proof else printed), places


class RecordFlow(Flow):
    """Pages whose head says the store and, in bold, the rope."""

    def __init__(self, store: str) -> None:
        self.rope = ""
        super().__init__(store, A4)

    def finish(self, words: str, pages_word: str = "page") -> Sequence[Page]:
        """Number the pages; the cautions stand under `words` on each."""
        lines = break_lines(rich(CAUTIONS), A4.right - A4.left, _FOOT_PT)
        for page in self.pages:
            for number, line in enumerate(lines):
                page.add(*set_line(line, A4.left, A4.bottom + 11.5 + number * leading_mm(_FOOT_PT) * 0.85, _FOOT_PT))
        return super().finish(words, pages_word)

    def begin(self, rope: str) -> None:
        """A rope's first page: the empty one there is, or a new one."""
        self.rope = rope
        if self.pages[-1].primitives:
            self.turn()
        else:
            self.head()

    def head(self) -> None:
        """The store on the left, the rope on the right; nothing on a first page that has a title."""
        if not self.rope and len(self.pages) == 1:
            return
        left, right, baseline = A4.left, A4.right, A4.top + 4
        words = f"rope {self.rope}" if self.rope else "list of ropes"
        tokens = width_mm("rope ", 11) if self.rope else width_mm(words, 11)
        number = width_mm(self.rope, 11, True)
        self.add(*symbols.mark(left, baseline, 9))
        room = right - left - 14 - tokens - number - 6
        self.add(Text(left + 13, baseline, fitted(self.running_head, room, 11), 11))
        self.add(Text(right - tokens - number, baseline, "rope " if self.rope else words, 11))
        if self.rope:
            self.add(Text(right - number, baseline, self.rope, 11, True))
        self.under_rule()


def _title(flow: RecordFlow, records: Sequence[Facts], printed_on: date) -> None:
    many = f"{len(records)} rope{'' if len(records) == 1 else 's'}"
    title_block(flow, flow.running_head, ["Equipment record", f"{many}, printed {spoken_date(printed_on)}"])
    if not records:
        flow.gap(3.0)
        flow.say(rich("There is no rope to print."))


def _list(flow: RecordFlow, records: Sequence[Facts]) -> list[tuple[int, float]]:
    """The ropes with what a reader looks for first; where the number of each rope's page belongs (page, baseline)."""
    flow.gap(3.0)
    table = Table(flow, _LIST)
    places = []
    for record in records:
        doubts = len(record.get("findings") or ())
        cells = [
            rich(str(record.get("rope") or "no number"), bold=True),
            record_parts.length_tokens(record.get("length_cm")),
            rich(str(record.get("state") or "not known")),
            rich(spoken_date(record.get("last_examined")) or "not recorded"),
            rich(spoken_date(record.get("next_due")) or "not recorded"),
            rich(str(doubts) if doubts else "–"),
            [],
        ]
        page = table.row([[cell] for cell in cells])
        places.append((page, table.row_baseline))
    return places


def _loses_letters(value: Any) -> bool:
    if isinstance(value, str):
        return legible(value).count("[?") > value.count("[?")
    if isinstance(value, Mapping):
        return any(_loses_letters(each) for each in value.values())
    return isinstance(value, list | tuple) and any(_loses_letters(each) for each in value)


_LIST = (
    Column("Rope", A4.left, 46.0),
    Column("Length", 48.0, 70.0, numbers=True),
    Column("State", 76.0, 104.0),
    Column("Last examined", 106.0, 132.0),
    Column("Next due", 134.0, 158.0),
    Column("Doubts", 160.0, 176.0, numbers=True),
    Column("Page", 180.0, A4.right, numbers=True),
)
