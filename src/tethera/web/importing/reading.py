"""A draft as the sheet it holds, with what its keeper changed, and what it becomes."""

import hashlib
import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from tethera.basics import PartialDate, Sheet, UnreadableWorkbook
from tethera.store import ByHand, ImportReading, RecordedAsFound, Register, encode_event, rows_to_events
from tethera.store.columns import Row
from tethera.web.importing.models import Draft
from tethera.web.importing.workbook_child import cell_from_json, cell_to_json

#: More than any store of ropes; a page must still be able to show it.
_MOST_ROWS, _MOST_COLUMNS = 5_000, 100


def sheets_out(sheets: tuple[Sheet, ...], name: str) -> list[dict[str, Any]]:
    """Sheets as JSON; UnreadableWorkbook for one too large to be looked through."""
    for each in sheets:
        if len(each.rows) > _MOST_ROWS or max(map(len, each.rows), default=0) > _MOST_COLUMNS:
            told = f"{name}, sheet {each.name}, has {len(each.rows):,} rows and {max(map(len, each.rows)):,} columns."
            way_out = (
                f"At most {_MOST_ROWS:,} rows and {_MOST_COLUMNS} columns are read. Copy the ropes to a new sheet."
            )
            raise UnreadableWorkbook(f"{told} {way_out}")
    return [{"name": each.name, "rows": [[cell_to_json(cell) for cell in row] for row in each.rows]} for each in sheets]


def rows_of(draft: Draft) -> list[Row]:
    """The rows of the sheet that was chosen, as they were written."""
    return [tuple(cell_from_json(cell) for cell in row) for row in draft.sheets[draft.sheet]["rows"]]


def by_hand_of(draft: Draft) -> ByHand:
    """What was changed on the sheet that was chosen."""
    changed = draft.changed.get(str(draft.sheet), {})
    return ByHand(
        columns={int(place): meaning for place, meaning in changed.get("columns", {}).items()},
        corrected={_place(key): text for key, text in changed.get("corrected", {}).items()},
        without=frozenset(changed.get("without", ())),
        again=tuple(changed.get("again", ())),
        right=frozenset(changed.get("right", ())),
    )


def keep_by_hand(draft: Draft, by_hand: ByHand) -> None:
    """Remember what was changed; the caller saves."""
    draft.changed = {
        **draft.changed,
        str(draft.sheet): {
            "columns": {str(place): meaning for place, meaning in by_hand.columns.items()},
            "corrected": {f"{row},{place}": text for (row, place), text in by_hand.corrected.items()},
            "without": sorted(by_hand.without),
            "again": list(by_hand.again),
            "right": sorted(by_hand.right),
        },
    }


def _place(key: str) -> tuple[int, int]:
    row, _, place = key.partition(",")
    return int(row), int(place)


def read_draft(draft: Draft, register: Register, on: date) -> ImportReading:
    """What the chosen sheet becomes in the store as it is now."""
    return rows_to_events(
        rows_of(draft),
        happened=PartialDate.fromisoformat(draft.as_of) if draft.as_of else PartialDate.of(on),
        code=register.store_rules().code,
        taken=register.numbers_taken(),
        source=draft.name,
        brought=register.brought_in(),
        known=register.ropes(on),
        by_hand=by_hand_of(draft),
    )


def ropes_of(reading: ImportReading) -> dict[str, RecordedAsFound]:
    """The ropes it becomes, by number."""
    return {each.rope: each for each in reading.events if isinstance(each, RecordedAsFound)}


def seal(reading: ImportReading) -> str:
    """A sum over everything that would be recorded: what somebody saw is what is recorded, or they look again."""
    told: list[Mapping[str, Any]] = [encode_event(each) for each in reading.events]
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()
