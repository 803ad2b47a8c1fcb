"""What the store says at the terminal: the list of ropes, and one rope's whole life."""

import argparse
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from tethera.basics import Finding, PartialDate
from tethera.cli import places, terminal
from tethera.cli.main import DONE
from tethera.cli.routes import findings_json
from tethera.store import LifeLine, RopeState, encode_event, length_band_cm, life


def list_ropes(words: argparse.Namespace) -> int:
    """List the ropes that have all of the words."""
    store = places.open_store(words.store)
    wanted = [word.casefold() for word in words.words]
    ropes = [rope for rope in store.register.ropes(places.today()) if _has_all(rope, wanted)]
    if words.json:
        print(json.dumps([rope_mapping(rope) for rope in ropes], indent=2, ensure_ascii=False))
        return DONE
    described = store.register.store()
    owner = described.owner if described and described.owner else str(store.folder)
    ready = [rope for rope in ropes if rope.state == "ready"]
    counted = "1 rope" if len(ropes) == 1 else f"{len(ropes)} ropes"
    ready_m = sum(rope.length_cm or 0 for rope in ready) // 100
    terminal.say(f"{terminal.bold(owner)}: {counted}, {len(ready)} ready with {ready_m} m in all\n")
    if ropes:
        terminal.say(_table(ropes))
    if wanted and not ropes:
        terminal.say(f"No rope has all of these words: {' '.join(words.words)}. Leave one out.")
    doubted = sum(bool(rope.findings) for rope in ropes)
    if doubted:
        who = "1 rope is" if doubted == 1 else f"{doubted} ropes are"
        terminal.say(f"\n? {who} doubted. One rope's life and doubts:  tethera rope NUMBER")
    return DONE


def _has_all(rope: RopeState, wanted: list[str]) -> bool:
    # Whoever asks what is out wants what was taken while set aside most of all.
    out = "out" if rope.with_somebody else ""
    facts = (
        rope.id,
        rope.state,
        out,
        kind_words(rope),
        rope.maker,
        rope.batch,
        rope.material,
        rope.product,
        rope.owner,
    )
    text = " ".join(str(fact) for fact in facts if fact).casefold()
    return all(word in text or word in text.replace(" ", "") for word in wanted)


def kind_words(rope: RopeState) -> str:
    """Diameter and type as far as declared.

    >>> kind_words(RopeState(id="UG1", diameter_mm=10.0, rope_type="A"))
    '10 mm A'
    """
    diameter = "" if rope.diameter_mm is None else f"{rope.diameter_mm:g} mm"
    return " ".join(part for part in (diameter, rope.rope_type or "") if part) or "?"


def _table(ropes: list[RopeState]) -> str:
    rows = []
    for rope in ropes:
        since = rope.first_used or rope.since or rope.bought
        rows.append(
            (
                rope.id,
                terminal.capsule(rope.length_cm),
                kind_words(rope),
                since.spoken() if since else "?",
                rope.state,
                "?" if rope.findings else "",
                _short(rope),
            )
        )
    head = ("Rope", "Length", "Kind", "Since", "State", "", "Now")
    return terminal.table(head, rows, ("left", "right", "left", "left", "left", "left", "left"))


def _short(rope: RopeState) -> str:
    match rope.state:
        case "ready":
            return rope.over_age or ""
        case "in preparation":
            return f"to do: {', '.join(rope.waits)}"
    why = (rope.why_not or "").removeprefix(rope.state).lstrip(": ")
    if rope.state == "set aside" and rope.with_somebody:
        since = f" since {rope.out_since.spoken()}" if rope.out_since else ""
        return f"out{since}, though set aside: {why}"
    return why


def one_rope(words: argparse.Namespace) -> int:
    """Tell one rope's whole life, what was there before a cut included."""
    store = places.open_store(words.store)
    rope = store.register.rope(words.rope, places.today())
    names = store.people.names()
    lines = life(store.register, rope.id, lambda person: names.get(person) or person, terminal.capsule)
    if words.json:
        answer = rope_mapping(rope) | {
            "life": life_mapping(lines),
            "lineage": list(store.register.lineage(rope.id, places.today())),
        }
        print(json.dumps(answer, indent=2, ensure_ascii=False))
        return DONE
    terminal.say(_head(rope))
    terminal.say(_facts(rope, names.get(rope.out_with or "") or "somebody"))
    terminal.say(terminal.bold("Life") + "  (the number in front is what a correction names: event=…)")
    for line in lines:
        said = f"{line.number:>6}  {line.happened.spoken():>11}  {_told(line)}"
        terminal.say(terminal.paragraph(said, hanging=" " * 21))
    if rope.findings:
        terminal.say("\n" + terminal.doubts(_named(rope, names)))
    return DONE


def _named(rope: RopeState, names: Mapping[str, str | None]) -> list[Finding]:
    """The doubts about a rope; a “fit” that stands beside a fault with who said it."""
    who = names.get(rope.fit_beside_by or "")
    said = f" That was said by {who}." if who else ""
    return [
        replace(each, message=f"{each.message}{said}") if each.code == "fit-with-faults" else each
        for each in rope.findings
    ]


def _next_due(rope: RopeState) -> str | None:
    """As the last examination wrote it; else the day that follows from the store's interval."""
    if rope.next_due is not None:
        return rope.next_due.spoken()
    return None if rope.inspection_due is None else PartialDate.of(rope.inspection_due).spoken()


def life_mapping(lines: Sequence[LifeLine]) -> list[dict[str, Any]]:
    """A life as machines read it: each event as it stands, and as it was written where a correction changed it."""
    told = []
    for line in lines:
        known = {"number": line.number, "recorded": line.recorded.isoformat(), "by": line.by}
        if line.first is not None:
            told.append({**known, "struck": line.reason, **encode_event(line.first)})
        if line.event is not None:
            told.append({**known, "struck": None, **encode_event(line.event)})
    return told


def _told(line: LifeLine) -> str:
    if line.struck:
        return f"{line.words} — struck out: {line.reason}"
    if line.was is None or line.was_happened is None:
        return line.words
    day = "" if line.was_happened == line.happened else f"{line.was_happened.spoken()}: "
    return f"{line.words} — corrected ({line.reason}); first written: {day}{line.was}"


def _head(rope: RopeState) -> str:
    return f"{terminal.bold(rope.id)}  {terminal.capsule(rope.length_cm)}  {kind_words(rope)}  {rope.state}"


def _facts(rope: RopeState, holder: str) -> str:
    give_m = (length_band_cm(rope.length_cm, rope.known_by)[1] - rope.length_cm) / 100 if rope.length_cm else 0.0
    facts = {
        "length": f"{terminal.capsule(rope.length_cm)} known by: {rope.known_by}, give or take {give_m:.1f} m"
        if rope.length_cm
        else "not known",
        "marked": None if rope.marked_m is None else f"{terminal.capsule(rope.marked_m * 100)} at both ends",
        "supplied by": rope.supplier,
        "made": " ".join(str(fact) for fact in (rope.product, rope.maker, rope.batch, rope.year_made) if fact),
        "bought": rope.bought.spoken() if rope.bought else None,
        "into service": rope.since.spoken() if rope.since else None,
        "used": "1 day" if rope.wear == 1 else f"{rope.wear} days",
        "examined": rope.last_inspected.spoken() if rope.last_inspected else "never here",
        "next due": _next_due(rope),
        "cut from": rope.parent,
        "owner": rope.owner,
        "why not": rope.why_not,
        "who has it": _held(rope, holder),
    }
    return "\n".join(f"  {name:<13} {fact}" for name, fact in facts.items() if fact) + "\n"


def _held(rope: RopeState, holder: str) -> str | None:
    if not rope.with_somebody or rope.out_since is None:
        return None
    return f"{holder}, since {rope.out_since.spoken()}"


def rope_mapping(rope: RopeState) -> dict[str, Any]:
    """A rope as machines read it."""

    def iso(value: Any) -> Any:
        return value.isoformat() if hasattr(value, "isoformat") else value

    findings: tuple[Finding, ...] = rope.findings
    return {
        "rope": rope.id,
        "state": rope.state,
        "length_cm": rope.length_cm,
        "length_known_by": rope.known_by,
        "length_sd_cm": round(rope.length_sd_cm, 1),
        "length_doubted_cm": rope.doubted_cm,
        "marked_m": rope.marked_m,
        "diameter_mm": rope.diameter_mm,
        "type": rope.rope_type,
        "mass_g_per_m": rope.mass_g_per_m,
        "elongation_percent": rope.elongation_percent,
        "impact_force_kn": rope.impact_force_kn,
        "maker": rope.maker,
        "product": rope.product,
        "batch": rope.batch,
        "year_made": rope.year_made,
        "supplier": rope.supplier,
        "owner": rope.owner,
        "bought": iso(rope.bought),
        "in_service_since": iso(rope.since),
        "used_days": rope.wear,
        "last_examined": iso(rope.last_inspected),
        "next_due": iso(rope.next_due),
        "examination_due": iso(rope.inspection_due),
        "cut_from": rope.parent,
        "cut_into": list(rope.children),
        "why_not": rope.why_not,
        "findings": findings_json(findings),
    }
