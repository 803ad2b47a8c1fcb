"""Which cells of a table cannot be read: each named with what is wrong, and left out so that the rest still stands.

A reader of files stops at the first fault. So that a table full of faults is not read as a whole once for each of
them, every pitch is read alone first, then the names of all pitches without what is in them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from tethera.rigging.route import UnreadableRoute
from tethera.rigging.route_file import read_route
from tethera.rigging.route_text import quoted
from tethera.rigging.words import EXPECTED

#: Rows below a pitch, in the order of a file.
BELOW = ("anchor", "edition")
#: Without these a row below a pitch says nothing.
WHOLE = {"anchor": "role", "edition": "source"}
PITCH = "[[pitch]]"
#: So many faults are named one by one; after them nothing more is read until some are mended.
MOST_FAULTS = 200


@dataclass(frozen=True, slots=True)
class CellError:
    """A cell that cannot be read: which pitch, which anchor or edition of it (counted from 0), and what is wrong."""

    pitch: int | None
    row: str
    number: int | None
    key: str
    message: str


@dataclass(slots=True, eq=False)
class Line:
    """One line of the file: its words, and the cell it came from."""

    words: str
    pitch: int | None = None
    row: str = "pitch"
    number: int | None = None
    key: str = ""
    head: bool = False


def text_of(lines: Sequence[Line]) -> str:
    """The file that the lines make."""
    return "\n".join(line.words for line in lines)


def readable_lines(lines: Sequence[Line]) -> tuple[list[Line], list[CellError]]:
    """The lines of a file that can be read, and the cells that were left out of it; no pitch is left where none can."""
    faults = _Faults(list(lines), [])
    pitches = list(dict.fromkeys(line.pitch for line in lines if line.pitch is not None))
    faults.settle(lambda: [*(line for line in faults.lines if line.pitch is None), *_STANDS_IN])
    for pitch in pitches:
        faults.settle(partial(_alone, faults, pitch))
    faults.settle(lambda: _skeleton(faults.lines))
    faults.settle(lambda: faults.lines)
    return faults.lines, faults.told


_NAME = Line(f"name = {quoted('Route')}")
_STANDS_IN = (Line(PITCH), Line(f"name = {quoted('A')}"), Line('depth = "1 m"'))


def _alone(faults: "_Faults", pitch: int) -> list[Line]:
    """A pitch without what it says of others."""
    return [_NAME, *(line for line in faults.lines if line.pitch == pitch and line.key != "instead_of")]


def _skeleton(lines: Sequence[Line]) -> list[Line]:
    """What pitches say of each other: their names, and which they are instead of."""
    found = [_NAME]
    for line in lines:
        if line.words == PITCH:
            found += [line, Line('depth = "1 m"', line.pitch)]
        elif line.pitch is not None and line.row == "pitch" and line.key in ("name", "instead_of"):
            found.append(line)
    return found


@dataclass(slots=True)
class _Faults:
    """The lines that still stand, and what was told of the others."""

    lines: list[Line]
    told: list[CellError]

    def settle(self, part: Callable[[], Sequence[Line]]) -> None:
        """Read a part of the file, and leave out what cannot be read in it, until it can."""
        while True:
            now = part()
            if all(line.words != PITCH for line in now):
                return
            try:
                read_route(text_of(now), source="table")
                return
            except UnreadableRoute as error:
                self._leave_out(now[error.line - 1], error.expected)
            if len(self.told) == MOST_FAULTS:
                many = f"{MOST_FAULTS} cells cannot be read, perhaps more. Mend some of them first."
                self.told.append(CellError(None, "route", None, "pitches", many))
                self.lines = []

    def _leave_out(self, line: Line, said: str) -> None:
        said = said.removeprefix(f"{line.key}: ").removeprefix(f"{line.key}_m: ")
        key, message = line.key, _in_a_table(said)
        if line.pitch is None:
            fresh = Line(f"name = {quoted('Route')}" if key in ("", "name") else "", key=key)
            self.lines = [fresh if each is line else each for each in self.lines]
            self._tell(CellError(None, "route", None, key or "name", message))
            return
        if line.head:
            key = WHOLE[line.row] if line.row in BELOW else "name" if "expected a name" in said else "depth"
        if line.head or key in ("name", "instead_of") or key == WHOLE.get(line.row):
            self.lines = [each for each in self.lines if not _is_of(each, line)]
        else:
            self.lines = [each for each in self.lines if each is not line]
        self._tell(CellError(line.pitch, line.row, line.number, key, message))

    def _tell(self, error: CellError) -> None:
        if all(_cell(error) != _cell(each) for each in self.told):
            self.told.append(error)


def _is_of(line: Line, other: Line) -> bool:
    """Whether a line is of the same pitch, or of the same row below it."""
    return line.pitch == other.pitch and (other.row == "pitch" or (line.row, line.number) == (other.row, other.number))


def _cell(error: CellError) -> tuple[int | None, str, int | None, str]:
    return error.pitch, error.row, error.number, error.key


def _in_a_table(said: str) -> str:
    """The complaint of a file's reader as somebody at a table needs it: there are no keys and no quotes."""
    if "expected its depth" in said:
        return "Write its depth, or its traverse or anchors."
    if "expected a name" in said or "expected a source" in said:
        return "Write which guide it is." if "source" in said else "The pitch has no name yet."
    if "expected the role" in said:
        return "Choose what it does."
    if "expected a depth above 0" in said:
        return "Write a depth above 0 m, or its traverse or anchors."
    plain = said.replace(f"expected {EXPECTED}", "write it as 22, 22.5 m or 72 ft")
    return plain[:1].upper() + plain[1:]
