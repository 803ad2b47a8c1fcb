"""Changes inside of what packs an input: values of JSON, cells, members of an archive; the sums are made right again.

A mutator changes the packed bytes themselves now and then, so that the packing is tried too.
"""

import hashlib
import io
import json
import random
import struct
import tomllib
import zipfile
import zlib
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any
from urllib.parse import parse_qsl, urlencode

import atheris

from guided import CORPUS
from tethera.store import GENESIS, decode_recorded, head_of, sum_of
from tethera.store.codec import encode_recorded

#: Values that somebody else's program may write where another was meant.
ODD: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 1, 2**31, 10**12 + 1, 10**400, 0.5, -0.0, 1e308, [], {}, "", " ", "\x00", "\ud800"),
    *("2021", "2021-02-30", "9999-12-31", "0001-01-01", "2024-05", "UG1", "UG99999", "p1", "٣", "½", "\u202e", "=1+1"),
    *("22 m", "30/40", "about 25 m", "10 or 15 m", "30 + 20 m", "-3 m", "0 m", "1e999", "nan", "9" * 40, "a" * 300),
    *([[]], [None], {"what": "bought"}, {"": None}, "0" * 64, "2026-11-25T09:30:00+00:00", "2026-11-25T09:30:00"),
)
#: Changes a packed input inside.
Shape = Callable[[bytes, random.Random], bytes]
#: One in so many changes is of the bytes as they are.
_PLAIN_ONE_IN = 5
#: One in so many begins from a good file again.
_ANEW_ONE_IN = 3


def changed_text(text: str, chance: random.Random) -> str:
    """Other words: as libFuzzer changes bytes, with what it has seen compared."""
    if chance.random() < 0.2:
        odd = chance.choice(ODD)
        return odd if isinstance(odd, str) else text[: len(text) // 2]
    return atheris.Mutate(text.encode("utf-8", "replace")[:2000], 2000).decode("utf-8", "replace")


def changed(value: Any, chance: random.Random, donor: Any = None) -> Any:
    """A value of JSON with one place changed; `donor` is a value whose parts may be put in."""
    if isinstance(value, dict) and value and chance.random() < 0.85:
        return _changed_object(value, chance, donor)
    if isinstance(value, list) and value and chance.random() < 0.85:
        return _changed_list(value, chance, donor)
    what = chance.random()
    if isinstance(value, str) and what < 0.6:
        return changed_text(value, chance)
    if isinstance(value, int | float) and what < 0.6:
        return chance.choice((value + 1, -value, value * 10, value / 2, str(value), not value))
    return chance.choice(ODD) if what < 0.9 or donor is None else chance.choice(list(_parts(donor)))


def _changed_object(value: dict[str, Any], chance: random.Random, donor: Any) -> dict[str, Any]:
    new, key = dict(value), chance.choice(list(value))
    match chance.randrange(10):
        case 0:
            del new[key]
        case 1:
            new[changed_text(key, chance)] = value[key]
        case 2:
            told = [each for each in _parts(donor) if isinstance(each, dict) and each]
            if told:
                of = chance.choice(told)
                name = chance.choice(list(of))
                new[name] = of[name]
        case _:
            new[key] = changed(value[key], chance, donor)
    return new


def _changed_list(value: list[Any], chance: random.Random, donor: Any) -> list[Any]:
    new, at = list(value), chance.randrange(len(value))
    match chance.randrange(10):
        case 0:
            del new[at]
        case 1:
            new.insert(chance.randrange(len(new) + 1), value[at])
        case 2:
            other = chance.randrange(len(new))
            new[at], new[other] = new[other], new[at]
        case _:
            new[at] = changed(value[at], chance, donor)
    return new


def _parts(value: Any) -> Iterator[Any]:
    yield value
    for each in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from _parts(each)


def within(
    inner: Callable[[bytes, random.Random], bytes], good: tuple[bytes, ...]
) -> Callable[[bytes, int, int], bytes]:
    """A mutator that changes inside where it can, and anyhow where it cannot or now and then.

    Sometimes it begins again from what is good: most of what is interesting to libFuzzer is refused early.
    """

    def mutate(data: bytes, most_bytes: int, seed: int) -> bytes:
        chance = random.Random(seed)
        if not chance.randrange(_ANEW_ONE_IN):
            data = chance.choice(good)
        if chance.randrange(_PLAIN_ONE_IN):
            try:
                new = data
                for _ in range(chance.choice((1, 1, 2, 4))):
                    new = inner(new, chance)
            except (ValueError, RecursionError, LookupError, TypeError, AttributeError, OverflowError):
                new = data  # not the shape any more
            except (zipfile.BadZipFile, NotImplementedError, RuntimeError, OSError, EOFError, struct.error, zlib.error):
                new = data
            if new != data and len(new) <= most_bytes:
                return new
        return atheris.Mutate(data, most_bytes)

    return mutate


def json_value(data: bytes, chance: random.Random) -> bytes:
    """One value of JSON."""
    value = json.loads(data)
    return _json(changed(value, chance, value))


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=True).encode()


def event_lines(data: bytes, chance: random.Random) -> bytes:
    """Lines of a log or an export: one changed, moved, doubled or taken out, and the chain made right again."""
    values = [json.loads(line) for line in data.split(b"\n") if line.strip()]
    head = values.pop(0) if values and isinstance(values[0], dict) and "tethera" in values[0] else None
    events = [each for value in values for each in (value if isinstance(value, list) else [value])]
    if head is not None and chance.random() < 0.15:
        return b"\n".join([_json(changed(head, chance, events)), *map(_json, values), b""])
    if chance.random() < 0.3:
        events.insert(chance.randrange(len(events) + 1), chance.choice(every_event()))
    else:
        events = _changed_list(events, chance, every_event()) if events else events
    if chance.random() < 0.9:
        events = relinked(events)
    lines: list[Any] = list(events)
    if len(lines) > 1 and chance.random() < 0.2:
        at = chance.randrange(len(lines) - 1)
        lines[at : at + 2] = [lines[at : at + 2]]
    if head is not None:
        head = {**head, "events": len(events)} | ({"head": _head(events)} if "head" in head else {})
    end = b"" if chance.random() < 0.1 else b"\n"
    return b"\n".join(map(_json, lines if head is None else [head, *lines])) + end


@cache
def every_event() -> list[Any]:
    """One and more of every kind of event, as older and newer programs wrote them."""
    lines = [line for path in sorted(CORPUS.glob("*/events.jsonl")) for line in path.read_text("utf-8").splitlines()]
    values = [json.loads(line) for line in dict.fromkeys(lines)]
    return [each for value in values for each in (value if isinstance(value, list) else [value])]


def relinked(events: list[Any]) -> list[Any]:
    """Each event with the sum of the one before, from the first that no longer has it; unreadable ones as they are."""
    new, previous = [], GENESIS
    for each in events:
        try:
            entry = decode_recorded({**each, "previous": previous})
        except (ValueError, TypeError, RecursionError):
            new.append(each)
            continue
        new.append(encode_recorded(entry))
        previous = sum_of(entry, previous)
    return new


def _head(events: list[Any]) -> str:
    try:
        return str(head_of([decode_recorded(each) for each in events]))
    except (ValueError, TypeError):
        return f"{len(events)}:{GENESIS}"


def query(data: bytes, chance: random.Random) -> bytes:
    """A page's name, a question mark, and what is asked of it."""
    page, _, asked = data.decode("utf-8", "replace").partition("?")
    pairs = [list(each) for each in parse_qsl(asked, keep_blank_values=True)]
    told = [[str(part) for part in pair] for pair in _changed_list(pairs, chance, None) if isinstance(pair, list)]
    kept = [(pair[0], pair[1]) for pair in told if len(pair) > 1]
    return f"{page}?{urlencode(kept, errors='replace')}".encode()


def toml(data: bytes, chance: random.Random) -> bytes:
    """A route file: a value, a key or a table changed."""
    value = tomllib.loads(data.decode())
    return "".join(f"{_key(key)} = {_toml(each)}\n" for key, each in changed(value, chance, value).items()).encode()


def _key(key: str) -> str:
    return json.dumps(key, ensure_ascii=True)


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(key)} = {_toml(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if value is None:
        return "nan"
    return json.dumps(value) if isinstance(value, str | bool) else repr(value)


def archive(data: bytes, chance: random.Random) -> bytes:
    """An archive with a piece of one of its members changed, packed plainly again."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        members = {each: packed.read(each) for each in packed.namelist()}
    likely = [each for each in members if "sheet" in each or "Strings" in each] or list(members)
    name = chance.choice(likely if chance.random() < 0.7 else list(members))
    members[name] = _piece(members[name], chance)
    return _packed(members)


def _piece(data: bytes, chance: random.Random) -> bytes:
    """Some bytes between two tags or of one, changed."""
    at = chance.randrange(len(data) + 1)
    begin = max(data.rfind(b">", 0, at), data.rfind(b'"', 0, at)) + 1
    ends = [found for found in (data.find(b"<", begin), data.find(b'"', begin)) if found >= 0]
    end = min(ends, default=len(data)) if chance.random() < 0.8 else min(len(data), begin + chance.randrange(60))
    new = atheris.Mutate(data[begin:end][:500], 500)
    return data[:begin] + new + data[end:]


def _packed(members: dict[str, bytes]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as packed:
        for name, content in members.items():
            packed.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), content)
    return file.getvalue()


def backup(data: bytes, chance: random.Random) -> bytes:
    """A backup with one member changed, and its manifest made to fit again."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        members = {each: packed.read(each) for each in packed.namelist()}
    name = chance.choice(list(members))
    members[name] = (event_lines if name.endswith(".jsonl") else json_value)(members[name], chance)
    manifest = json.loads(members["manifest.json"])
    if chance.random() < 0.95:
        for each, content in members.items():
            if each in manifest["members"]:
                told = {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
                manifest["members"][each] = told
        for store in manifest["stores"]:
            events = [json.loads(line) for line in members[f"stores/{store['slug']}/events.jsonl"].split(b"\n") if line]
            store |= {"events": len(events), "head": _head(events)}
            store["people"] = len(json.loads(members[f"stores/{store['slug']}/people.json"]))
        members["manifest.json"] = _json(manifest)
    return _packed(members)


def picture(data: bytes, chance: random.Random) -> bytes:
    """A picture with some bytes changed; a PNG with its check sums made right again."""
    at = chance.randrange(len(data))
    end = min(len(data), at + chance.randrange(1, 40))
    data = data[:at] + atheris.Mutate(data[at:end], 60) + data[end:]
    if not data.startswith(b"\x89PNG\r\n\x1a\n"):
        return data
    new, at = data[:8], 8
    while at + 8 <= len(data):
        long = struct.unpack(">I", data[at : at + 4])[0]
        inside = data[at + 4 : at + 8 + long]
        new += data[at : at + 4] + inside + struct.pack(">I", zlib.crc32(inside))
        at += 12 + long
    return new
