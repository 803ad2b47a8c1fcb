"""JSON that a person can read, written piece by piece: a list may be longer than memory."""

import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any


def pieces(value: Any, margin: str = "") -> Iterator[str]:
    """A value as indented JSON. Objects are written entry by entry, what is counted off item by item.

    >>> print("".join(pieces({"what": iter([{"a": 1}, 2]), "none": iter(())})))
    {
     "what": [
      {
       "a": 1
      },
      2
     ],
     "none": []
    }
    """
    if isinstance(value, Mapping):
        yield from _between("{", "}", _entries(value, f"{margin} "), margin)
    elif isinstance(value, Iterator):
        yield from _between("[", "]", ([_whole(each, f"{margin} ")] for each in value), margin)
    else:
        yield _whole(value, margin)


def _entries(value: Mapping[str, Any], margin: str) -> Iterator[Iterable[str]]:
    for name, each in value.items():
        yield _entry(name, each, margin)


def _entry(name: str, value: Any, margin: str) -> Iterator[str]:
    yield f"{_whole(name, margin)}: "
    yield from pieces(value, margin)


def _between(begin: str, end: str, items: Iterator[Iterable[str]], margin: str) -> Iterator[str]:
    lead = f"{begin}\n{margin} "
    for item in items:
        yield lead
        yield from item
        lead = f",\n{margin} "
    # Nothing was written yet where there is none.
    yield f"{begin}{end}" if lead.startswith(begin) else f"\n{margin}{end}"


def _whole(value: Any, margin: str) -> str:
    # A line within words is written \n: every real one begins a line of the form.
    return json.dumps(value, ensure_ascii=False, indent=1).replace("\n", f"\n{margin}")
