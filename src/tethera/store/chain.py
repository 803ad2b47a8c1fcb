"""The chain: each entry of a log carries the sum of the one before, and the last sum, the head, stands for all of them.

The sum of an entry is the SHA-256 of its canonical JSON (RFC 8785), `previous` included; the first carries 64 zeros.
Whoever can rewrite the whole log can rewrite its chain: only a head kept elsewhere proves anything (docs/verify.md).
Names of persons lie beside the log and are in no sum, so that a name can be erased.
"""

import hashlib
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from tethera.store.canonical import canonical
from tethera.store.codec import encode_recorded
from tethera.store.log import Recorded

#: What the first entry carries.
GENESIS = "0" * 64
#: Fewer letters of a sum than this are no proof: 16 are 64 bits.
FEWEST_LETTERS = 16
#: On paper and read aloud: 128 bits in groups of four.
SHOWN_LETTERS = 32
#: Letter by letter after the first four: groups of letters could be cut into groups in more ways than there is time.
_HEAD = r"(\d{1,12}):\s*([0-9a-fA-F]{4}(?:[ \u00a0-]?[0-9a-fA-F])*)"


@dataclass(frozen=True, slots=True)
class Head:
    """So many events, and the sum of the last; read from paper, the sum may be only its first letters."""

    length: int
    sum: str

    def __str__(self) -> str:
        return f"{self.length}:{self.sum}"

    def short(self) -> str:
        """As it stands on paper and is read aloud, and as `read_head` takes it.

        >>> Head(142, "3f9a01c2" * 8).short()
        '142: 3f9a 01c2 3f9a 01c2 3f9a 01c2 3f9a 01c2'
        """
        return f"{self.length}: {' '.join(self.sum[at : at + 4] for at in range(0, SHOWN_LETTERS, 4))}"

    def is_of(self, other: "Head") -> bool:
        """Whether this, as far as it was written down, is the other."""
        return self.length == other.length and other.sum.startswith(self.sum)


def read_head(text: str) -> Head:
    """A head as it was printed, mailed or typed; ValueError says how one looks.

    >>> str(read_head(" 142: 3F9A 01c2-3f9a 01c2 "))
    '142:3f9a01c23f9a01c2'
    """
    match = re.fullmatch(_HEAD, text.strip())
    found = _head(match) if match else None
    if found is None:
        raise ValueError(
            f"“{text[:90]}” is no head of a record: expected the number of events, a colon and at least "
            f"{FEWEST_LETTERS} letters 0 to 9 and a to f, as 142: 3f9a 01c2 4b7e 9d10"
        )
    return found


def heads_in(text: str) -> tuple[Head, ...]:
    """Every head that stands in a text, as a mail or a saved answer."""
    found = (_head(match) for match in re.finditer(rf"(?<![\w:.]){_HEAD}", text))
    return tuple(each for each in found if each is not None)


def _head(match: re.Match[str]) -> Head | None:
    letters = re.sub(r"[^0-9a-f]", "", match[2].lower())
    return Head(int(match[1]), letters) if FEWEST_LETTERS <= len(letters) <= len(GENESIS) else None


def sum_of(entry: Recorded, previous: str) -> str:
    """The sum of an entry that follows the sum `previous`; what it carries itself goes before."""
    return hashlib.sha256(canonical({**encode_recorded(entry), "previous": entry.previous or previous})).hexdigest()


def linked(entries: Iterable[Recorded], previous: str) -> Iterator[Recorded]:
    """The entries, each with the sum of the one before. One that carries its own keeps it: what was altered before
    it came here must still be found."""
    for entry in entries:
        with_its_own = entry if entry.previous is not None else replace(entry, previous=previous)
        previous = sum_of(with_its_own, previous)
        yield with_its_own


def head_of(entries: Sequence[Recorded]) -> Head:
    """The head of a log, at once from its last entry; reckoned from further back where entries carry no sum."""
    at = len(entries)
    while at and entries[at - 1].previous is None:
        at -= 1
    at = max(at - 1, 0)
    previous = GENESIS
    for entry in entries[at:]:
        previous = sum_of(entry, previous)
    return Head(len(entries), previous)


@dataclass(frozen=True, slots=True)
class Break:
    """The sum that event `at` carries is not that of the events before it: one of `first` to `at` - 1 was altered, or
    what stood between was taken out. Where it carries none although others do, `first` is `at`. `belongs` is a later
    event that does follow the one before `first`."""

    first: int
    at: int
    belongs: int | None = None


class Chain:
    """Walks a log as it grows: its head, and the first place where it does not hold."""

    def __init__(self, wanted: Iterable[int] = ()) -> None:
        self.head = Head(0, GENESIS)
        self.broken: Break | None = None
        #: Events without a sum of their own, from the first: a change among them is found, but not which it was.
        self.without_sum = 0
        #: The sums at these lengths, as far as it has come.
        self.sums = dict.fromkeys(wanted, "")
        self._suspect_from = 0
        self._keep()

    def extend(self, entries: Iterable[Recorded]) -> "Chain":
        """Walk on over the next entries."""
        for entry in entries:
            at, previous = self.head.length, self.head.sum
            if entry.previous is None:
                if self.without_sum == at:
                    self.without_sum += 1
                elif self.broken is None:
                    self.broken = Break(at, at)
            else:
                if entry.previous != previous and self.broken is None:
                    self.broken = Break(self._suspect_from, at)
                self._suspect_from = at
            self.head = Head(at + 1, sum_of(entry, previous))
            self._keep()
        return self

    def _keep(self) -> None:
        if self.head.length in self.sums:
            self.sums[self.head.length] = self.head.sum
