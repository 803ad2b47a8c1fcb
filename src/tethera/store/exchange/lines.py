"""A whole store as JSON lines: the head, then every event exactly as the log writes it, one a line."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from tethera.store.chain import Head
from tethera.store.codec import decode_recorded, encode_recorded
from tethera.store.exchange.base import Exported, UnreadableExport, head, is_head, read_head, whole
from tethera.store.log import Recorded

_LONGEST_LINE = 256 * 1024 * 1024


def to_lines(events: Sequence[Recorded], names: Mapping[str, str | None], told: Head | None = None) -> Iterator[bytes]:
    """The lines of an export, each with its end; `told` is a head that is passed on as it was read."""
    yield _line(head(events, names, told))
    yield from log_lines(events)


def log_lines(events: Sequence[Recorded]) -> Iterator[bytes]:
    """The events alone, as a store's own file of lines holds them."""
    for each in events:
        yield _line(encode_recorded(each))


def _line(value: object) -> bytes:
    return json.dumps(value, ensure_ascii=False, allow_nan=False).encode() + b"\n"


def from_lines(chunks: Iterable[bytes]) -> Exported:
    """Read back an export, or a store's own file of lines, which has no head and no names; the file comes in chunks."""
    events: list[Recorded] = []
    count, names, told, named = None, dict[str, str | None](), None, False
    for number, line in _numbered(chunks):
        try:
            value = json.loads(line.decode())
            if is_head(value):
                if named or events:
                    raise ValueError("the head of an export stands only in its first line")
                (count, names, told), named = read_head(value), True
                continue
            events.extend(_events(value))
        except (ValueError, RecursionError) as error:
            raise UnreadableExport(f"Line {number}: {_words(error)}. Nothing was brought in.") from None
    if count is not None:
        whole(count, events, "The first line")
    return Exported(tuple(events), names, told)


def _numbered(chunks: Iterable[bytes]) -> Iterator[tuple[int, bytes]]:
    for number, line in enumerate(_split(chunks), 1):
        line = line.removeprefix(b"\xef\xbb\xbf") if number == 1 else line
        if line.strip():
            yield number, line


def _split(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """Lines, of which one may go over many chunks. Of a line without end no more is kept than a line may have."""
    begun: list[bytes] = []
    length = 0
    for chunk in chunks:
        first, *more = chunk.split(b"\n")
        begun.append(first)
        length += len(first)
        if length > _LONGEST_LINE:
            raise UnreadableExport("A line is longer than any line of an export. Nothing was brought in.")
        for each in more:
            yield b"".join(begun)
            begun, length = [each], len(each)
    yield b"".join(begun)


def _events(value: Any) -> Iterator[Recorded]:
    """A line of the log holds one event, or several that were recorded together."""
    for each in value if isinstance(value, list) else (value,):
        json.dumps(each, ensure_ascii=False).encode()  # half a letter, as \ud800, could be read but never written
        yield decode_recorded(each)


def _words(error: Exception) -> str:
    if isinstance(error, UnicodeDecodeError | UnicodeEncodeError):
        return "it is not text in UTF-8"
    if isinstance(error, json.JSONDecodeError):
        return f"it is not whole JSON at column {error.colno} ({error.msg}); expected one event as an object {{…}}"
    if isinstance(error, RecursionError):
        return "it is nested too deep; expected one event as an object {…}"
    return str(error)
