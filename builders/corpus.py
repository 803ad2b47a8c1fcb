"""Write a small record as one version of Tethera writes it: a folder of tests/corpus (see the README there).

    git worktree add --detach ../then COMMIT
    PYTHONPATH=../then/src python builders/corpus.py tests/corpus/DAY-COMMIT
    python builders/corpus.py tests/corpus/DAY-COMMIT          # with the code of today: the head, where it lacks one

It runs the code of the commit that is named, not of today: that commit's demo, its events, its log and its fold. So it
uses only what every version has had. All in it is invented. The record holds some whole lives of ropes out of the
demo, then each kind of event that the version knows: once with only what it must say, once with everything it can say.
What the version itself works out of them goes beside it, for later versions to be held against.
"""

import json
import sys
import tempfile
import types
from collections.abc import Iterable
from dataclasses import MISSING, fields, is_dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from tethera.basics import PartialDate
from tethera.cli.main import main as tethera
from tethera.store import Cut, Event, FileLog, Recorded, Register
from tethera.store.events import EVENT_KINDS, RopeEvent

LOOKED_AT = date(2026, 11, 25)
FROM_THE_DEMO, MOST_BYTES = 20, 30_000
BARE, FULL = "UG91", "UG92"
_LAST = ("cut", "retired", "corrected")
#: By the name of a field; else by its type.
_TOLD: dict[str, Any] = {
    "code": "UG",
    "key": "cold-barrow",
    "text": 'name = "Cold Barrow"\n\n[[pitch]]\nname = "Entrance"\ndepth_m = 12\n',
    "bands": "30 to 39 m: yellow",
    "person": "p2",
    "seen": ("UG91",),
    "sha256": "ab" * 32,
    "label_keeps_back_percent": 2,
    "year_made": 2024,
    "length_cm": 4210,
    "counts_cm": (4210, 4212),
    "length_m": 41,
    "diameter_mm": 9.0,
    "mass_g_per_m": 52.5,
    "days": 2,
    "first_day": date(2026, 12, 5),
    "last_day": date(2026, 12, 6),
    "bought": PartialDate(2024, 3),
    "first_used": PartialDate(2024),
}
_BY_TYPE: dict[Any, Any] = {int: 3, float: 2.5, date: LOOKED_AT, PartialDate: PartialDate(2026, 12, 1)}


def _value(name: str, hint: Any, default: Any = MISSING) -> Any:
    """What a field says, never what it would say if it were left out: that would not be written."""
    origin = get_origin(hint)
    if name in _TOLD:
        return _TOLD[name]
    if origin in (Union, types.UnionType):
        return _value(name, next(each for each in get_args(hint) if each is not type(None)), default)
    if origin is Literal:
        return [each for each in get_args(hint) if each != default][-1]
    if hint is bool:
        return default is not True
    if origin is tuple:
        return (_value(name, get_args(hint)[0]),)
    if is_dataclass(hint) and isinstance(hint, type) and hint is not Event and hint not in _BY_TYPE:
        return hint(rope=f"{FULL}A", length_cm=1200)
    return _BY_TYPE[hint] if hint in _BY_TYPE else f"{name.replace('_', ' ')}, “½ é ☂”"


def _of_kind(kind: type[Event], number: int, *, full: bool) -> Event:
    """One event of a kind; `number` is an event that stands before it in the record."""
    hints, values = get_type_hints(kind), {}
    for field in fields(kind):
        if field.name == "rope":
            values["rope"] = FULL if full else BARE
        elif field.name == "happened":
            values["happened"] = PartialDate(2026, 11, 20) if full else PartialDate(2026, 11)
        elif field.name in ("event", "booking", "to_event"):
            if full or field.default is MISSING:
                values[field.name] = number
        elif full and field.name == "replacement":
            values["replacement"] = _of_kind(EVENT_KINDS["weighed"], number, full=True)
        elif full or field.default is MISSING:
            values[field.name] = _value(field.name, hints[field.name], field.default)
    return kind(**values)


def _each_kind(begins: int) -> list[Recorded]:
    """Each kind of event of this version, bare and full, as if written down one evening."""
    evening = datetime(LOOKED_AT.year, LOOKED_AT.month, LOOKED_AT.day, 18, tzinfo=UTC)
    written: list[Recorded] = []
    kinds = [*(k for k in EVENT_KINDS if k not in _LAST), *(k for k in _LAST if k in EVENT_KINDS)]
    for word in kinds:
        events = [_of_kind(EVENT_KINDS[word], begins, full=full) for full in (False, True)]
        for event in events:
            moment = evening + timedelta(minutes=len(written))
            written.append(Recorded(event, moment, "p1"))
    return written


def _families(log: Iterable[Recorded]) -> dict[str, str]:
    """Of each rope the one it was first cut from."""
    first: dict[str, str] = {}
    for each in log:
        if isinstance(each.event, Cut):
            for piece in each.event.into:
                first[piece.rope] = first.get(each.event.rope, each.event.rope)
    return first


def _lives(log: list[Recorded]) -> list[Recorded]:
    """Whole lives of ropes out of the demo: those that tell the most kinds of event in the fewest."""
    first = _families(log)
    lives: dict[str, list[Recorded]] = {}
    for each in log:
        if isinstance(each.event, RopeEvent) and not any(
            getattr(each.event, name, None) is not None for name in ("booking", "to_event")
        ):
            rope = each.event.rope
            lives.setdefault(first.get(rope, rope), []).append(each)
    chosen: list[str] = []
    seen: set[type[Event]] = set()

    def worth(rope: str) -> tuple[float, str]:
        return len({type(each.event) for each in lives[rope]} - seen) / len(lives[rope]), rope

    while lives:
        left = FROM_THE_DEMO - sum(len(lives[each]) for each in chosen)
        fits = [each for each in lives if each not in chosen and len(lives[each]) <= left]
        if not fits:
            break
        best = max(fits, key=worth)
        chosen.append(best)
        seen |= {type(each.event) for each in lives[best]}
    kept = {id(each) for rope in chosen for each in lives[rope]}
    return [each for each in log if id(each) in kept]


def _without_sum(each: Recorded) -> Recorded:
    return replace(each, previous=None) if hasattr(each, "previous") else each


def write(into: Path) -> None:
    """Write the record, its names and what this version makes of it."""
    into.mkdir(parents=True)
    with tempfile.TemporaryDirectory() as folder:
        if tethera(["demo", "--into", folder, "--json"]):
            raise SystemExit("the demo of that version does not run")
        store = Path(folder) / "store"
        demo = list(FileLog(store / "events.jsonl").read())
        (into / "people.json").write_bytes((store / "people.json").read_bytes())
    described = [demo[0]]
    lives = [*described, *_lives(demo[1:])]
    log = FileLog(into / "events.jsonl")
    log.append(0, [_without_sum(each) for each in lives])
    # One after the other: one line an event, as the pages write them; what stands above is one line, as imports do.
    for each in _each_kind(begins=len(lives) - 1):
        log.append(len(log.read()), [each])
    Path(f"{into / 'events.jsonl'}.lock").unlink(missing_ok=True)
    if (into / "events.jsonl").stat().st_size > MOST_BYTES:
        raise SystemExit(f"more than {MOST_BYTES:,} bytes: take fewer lives from the demo")
    ropes = Register(FileLog(into / "events.jsonl")).ropes(LOOKED_AT)
    told = {
        "looked_at": LOOKED_AT.isoformat(),
        "events": len(log.read()),
        "ropes": {each.id: {"state": each.state, "length_cm": each.length_cm} for each in ropes},
    }
    _keep(into / "expected.json", told)


def pin(folder: Path) -> None:
    """Write the head beside what is expected, if none stands there: once pinned it is never changed."""
    try:
        from tethera.store import head_of
    except ImportError:
        return  # a version from before records had sums: today's pins it
    path = folder / "expected.json"
    told = json.loads(path.read_text("utf-8"))
    told.setdefault("head", str(head_of(FileLog(folder / "events.jsonl").read())))
    _keep(path, told)


def _keep(path: Path, told: dict[str, Any]) -> None:
    path.write_text(json.dumps(told, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    named = Path(sys.argv[1])
    if not named.exists():
        write(named)
    pin(named)
