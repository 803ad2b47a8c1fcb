"""What both ends of ropes say: what needs a mark, the strips as a PDF, and that they are on."""

import argparse
import json
import os
import re
import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tethera.basics import PartialDate
from tethera.cli import terminal
from tethera.cli.errors import CannotBeDone, WrongInput
from tethera.cli.main import DONE
from tethera.cli.marks_told import in_words, mapping
from tethera.cli.places import OpenStore, acting, check_may, now, open_store, today
from tethera.cli.routes import findings_json
from tethera.cli.store_in import happened_on
from tethera.labels import Marking, NoMark, end_marks, most_m, strips_pdf
from tethera.store import Marked, RopeState

_LAST_RESORT = "Nothing was written and nothing recorded."


def mark(words: argparse.Namespace) -> int:
    """Tell what both ends say, print it, or record that it is on them; without a rope, list what needs a mark."""
    if words.done and words.pdf:
        raise WrongInput(
            "--pdf prints the strips, --done records that they are on the rope. Print first, put them on both ends, "
            "then say --done."
        )
    if not words.ropes and (words.done or words.pdf or words.metres is not None or words.diameter is not None):
        raise WrongInput("Say which ropes: tethera mark 41 42 …  Those that need a mark:  tethera mark")
    store = open_store(words.store)
    if not words.ropes:
        return _needing(words, store)
    happened, findings = happened_on(words.on)
    marking = _marking(words, store, happened)
    if words.pdf:
        return _print(words, marking)
    if words.done:
        return _record(words, store, marking, happened, findings)
    if words.json:
        print(json.dumps(mapping(marking, words.paper), indent=2, ensure_ascii=False))
    else:
        terminal.say(in_words(marking, words.paper, _again(words, marking)))
    return DONE


def _marking(words: argparse.Namespace, store: OpenStore, happened: PartialDate) -> tuple[Marking, ...]:
    """What is to be said on each rope, or CannotBeDone with every rope of which nothing true can be said."""
    rules = store.register.store_rules()
    found: list[Marking] = []
    refused: list[str] = []
    for number in dict.fromkeys(store.register.find(each) for each in words.ropes):
        rope = store.register.rope(number, today())
        try:
            ends = end_marks(rope, rules, happened.latest, length_m=words.metres)
        except NoMark as no_mark:
            refused.append(str(no_mark))
        else:
            found.append(Marking.of(rope, ends, rules.bands, words.paper, words.diameter))
    if refused:
        raise CannotBeDone("\n".join((*refused, _LAST_RESORT)))
    return tuple(found)


def _print(words: argparse.Namespace, marking: Sequence[Marking]) -> int:
    """The strips as a PDF: there whole or not at all, and never in the place of something that is no PDF."""
    out = Path(words.pdf).expanduser()
    _check_place(out)
    diameters = {} if words.diameter is None else {each.rope.id: words.diameter for each in marking}
    pdf = strips_pdf([each.ends for each in marking], words.paper, diameters_mm=diameters)
    beside = out.with_name(f".{out.name}.part-{os.getpid()}")
    try:
        beside.write_bytes(pdf)
        beside.replace(out)
    finally:
        beside.unlink(missing_ok=True)
    pages = len(re.findall(rb"/Type\s*/Page\b", pdf))
    ropes = [each.rope.id for each in marking]
    if words.json:
        answer = {"file": str(out), "pages": pages, "paper": words.paper, "ropes": ropes}
        print(json.dumps(answer, indent=2, ensure_ascii=False))
        return DONE
    counted = "1 page" if pages == 1 else f"{pages} pages"
    terminal.say(f"Strips for both ends of {' '.join(ropes)} written to {out}")
    told = f"{counted}, {words.paper}. Print at 100 %, check the 100 mm line with a ruler, then cut."
    terminal.say(terminal.paragraph(told))
    for doubt in dict.fromkeys(each.ends[0].doubt for each in marking if each.ends[0].doubt):
        terminal.say(terminal.paragraph(doubt, indent="? ", hanging="  "))
    terminal.say(f"Once both ends are marked:  tethera mark {_again(words, marking)} --done")
    return DONE


def _again(words: argparse.Namespace, marking: Sequence[Marking]) -> str:
    """What was typed, so that the next step says the same metres on the same rope of the same store."""
    typed = [each.rope.id for each in marking]
    typed += [] if words.metres is None else [f"--metres {words.metres}"]
    typed += [] if words.diameter is None else [f"--diameter {words.diameter:g}"]
    typed += [] if words.paper == "a4" else [f"--paper {words.paper}"]
    typed += [] if words.store is None else [f"--store {shlex.quote(words.store)}"]
    return " ".join(typed)


def _check_place(out: Path) -> None:
    if out.suffix.lower() != ".pdf":
        raise WrongInput(f"{out.name}: the strips are a PDF. End the name with .pdf.")
    if out.exists():
        with out.open("rb") as file:
            if file.read(5) != b"%PDF-":
                raise WrongInput(f"{out} exists and is no PDF. Name another file.")


def _record(
    words: argparse.Namespace,
    store: OpenStore,
    marking: Sequence[Marking],
    happened: PartialDate,
    findings: Sequence[Any],
) -> int:
    """Both ends of each are marked: all or none."""
    events = [
        Marked(happened=happened, rope=each.rope.id, length_m=each.ends[0].length_m, words=each.ends[0].words)
        for each in marking
    ]
    by = acting(store, words.by)
    check_may(store, by, events)
    doubts = (*findings, *store.register.record_all(events, recorded=now(), by=by))
    if words.json:
        marked = [{"rope": event.rope, "length_m": event.length_m, "words": event.words} for event in events]
        answer = {"recorded": "marked", "ropes": marked, "findings": findings_json(doubts)}
        print(json.dumps(answer, indent=2, ensure_ascii=False))
        return DONE
    terminal.say("Recorded: both ends are marked")
    for event in events:
        said = f"  {event.rope:<7} {terminal.capsule(event.length_m * 100):>8}  {event.words}"
        terminal.say(terminal.paragraph(said, hanging=" " * 20))
    if doubts:
        terminal.say(terminal.doubts(doubts))
    return DONE


def _needing(words: argparse.Namespace, store: OpenStore) -> int:
    """The ropes whose mark is missing, void or says too much, and what comes first."""
    rows = [_need(rope, why, store) for rope in store.register.ropes(today()) if (why := why_to_mark(rope))]
    if words.json:
        print(json.dumps(rows, indent=2, ensure_ascii=False))
        return DONE
    if not rows:
        terminal.say("Every rope says what it is at both ends, and no mark says more than was measured.")
        return DONE
    ready = [row["rope"] for row in rows if row["may_say_m"] is not None]
    later = len(rows) - len(ready)
    counted = "1 rope needs" if len(ready) == 1 else f"{len(ready) or 'No'} ropes need"
    terminal.say(f"{counted} a mark at both ends{f', {later} not yet' if later else ''}\n")
    # As on the page: what can be marked now, then what waits for something else.
    rows.sort(key=lambda row: row["may_say_m"] is None)
    terminal.say(terminal.table(_HEAD, [_row(row) for row in rows], ("left", "right", "right", "right", "left")))
    if ready:
        terminal.say(f"\nWords, strip and tube:  tethera mark {' '.join(ready[:4])}{' …' if len(ready) > 4 else ''}")
    return DONE


_HEAD = ("Rope", "Length", "Mark", "May say", "Why, and what comes first")


def why_to_mark(rope: RopeState) -> str:
    """Why a rope needs a mark: none, overstates or void; empty where it needs none, or cannot be had.

    >>> why_to_mark(RopeState("UG1", 2860, "measured", marked_m=30, waits=()))
    'overstates'
    >>> why_to_mark(RopeState("UG1", 3060, "measured", marked_m=30, waits=()))
    ''
    """
    if rope.state in ("retired", "missing"):
        return ""
    if rope.marked_m is None:
        return "none"
    if rope.mark_overstates:
        return "overstates"
    return "void" if rope.marks_void or "mark" in rope.waits else ""


def _need(rope: RopeState, why: str, store: OpenStore) -> dict[str, Any]:
    """A rope that needs a mark, the most metres it may say, and what must be done before."""
    try:
        may_say_m, first = most_m(rope, store.register.store_rules()), ""
    except NoMark as no_mark:
        may_say_m, first = None, f"{_sentence(no_mark.why)} {no_mark.way_out}"
    return {
        "rope": rope.id,
        "length_cm": rope.length_cm,
        "marked_m": rope.marked_m,
        "why": why,
        "because": rope.marks_void or None,
        "may_say_m": may_say_m,
        "doubt": rope.length_in_doubt or None,
        "first": first,
    }


def _row(need: dict[str, Any]) -> tuple[str, ...]:
    says, may_say = (
        "" if metres is None else terminal.capsule(metres * 100) for metres in (need["marked_m"], need["may_say_m"])
    )
    because = f"{_sentence(need['because'])}." if need["because"] else ""
    # Where no mark can be made for it, what comes first says the doubt.
    doubt = need["doubt"] if need["may_say_m"] is not None else ""
    told = " ".join(each for each in (because, doubt, need["first"]) if each)
    return need["rope"], terminal.capsule(need["length_cm"]), says or "none", may_say, told


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
