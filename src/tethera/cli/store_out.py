"""What the store says at the terminal: the list of ropes, and one rope's whole life."""

import argparse
import dataclasses
import json
from typing import Any

from tethera.basics import Finding
from tethera.cli import places, terminal
from tethera.cli.main import DONE
from tethera.cli.places import OpenStore
from tethera.cli.routes import findings_json
from tethera.store import Corrected, Event, Recorded, RopeState, encode_event, kind


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
    facts = (rope.id, rope.state, kind_words(rope), rope.maker, rope.batch, rope.material, rope.product, rope.owner)
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
    return (rope.why_not or "").removeprefix(rope.state).lstrip(": ")


def one_rope(words: argparse.Namespace) -> int:
    """Tell one rope's whole life, what was there before a cut included."""
    store = places.open_store(words.store)
    rope = store.register.rope(words.rope, places.today())
    entries = whole_life(store, rope.id)
    if words.json:
        life = [
            {
                "number": number,
                "recorded": recorded.recorded.isoformat(),
                "by": recorded.by,
                "struck": reason,
                **encode_event(event),
            }
            for number, event, recorded, reason in entries
        ]
        answer = rope_mapping(rope) | {"life": life, "lineage": list(store.register.lineage(rope.id, places.today()))}
        print(json.dumps(answer, indent=2, ensure_ascii=False))
        return DONE
    terminal.say(_head(rope))
    terminal.say(_facts(store, rope))
    terminal.say(terminal.bold("Life") + "  (the number in front is what a correction names: event=…)")
    for number, event, _, reason in entries:
        struck = f" — struck out: {reason}" if reason is not None else ""
        line = f"{number:>6}  {event.happened.spoken():>11}  {_what(store, event)}{struck}"
        terminal.say(terminal.paragraph(line, hanging=" " * 21))
    if rope.findings:
        terminal.say("\n" + terminal.doubts(rope.findings))
    return DONE


def whole_life(store: OpenStore, rope: str) -> list[tuple[int, Event, Recorded, str | None]]:
    """Every event of a rope in order of happening, with the reason of those that were struck out by a correction."""
    log = store.log.read()
    reasons = {r.event.event: r.event.reason for r in log if isinstance(r.event, Corrected)}
    life: list[tuple[int, Event, Recorded, str | None]] = [
        (entry.number, entry.event, entry.recorded, None) for entry in store.register.events(rope)
    ]
    counted = {(number, event) for number, event, _, _ in life}
    life += [
        (number, log[number].event, log[number], reason)
        for number, reason in reasons.items()
        if number < len(log)
        and getattr(log[number].event, "rope", None) == rope
        and (number, log[number].event) not in counted
    ]
    return sorted(life, key=lambda each: (each[1].happened.latest, each[0]))


def _head(rope: RopeState) -> str:
    return f"{terminal.bold(rope.id)}  {terminal.capsule(rope.length_cm)}  {kind_words(rope)}  {rope.state}"


def _facts(store: OpenStore, rope: RopeState) -> str:
    spread = rope.length_sd_cm * 1.645 / 100
    facts = {
        "length": f"{terminal.capsule(rope.length_cm)} known by: {rope.known_by}, give or take {spread:.1f} m"
        if rope.length_cm
        else "not known",
        "marked": None if rope.marked_m is None else f"{terminal.capsule(rope.marked_m * 100)} at both ends",
        "made": " ".join(str(fact) for fact in (rope.product, rope.maker, rope.batch, rope.year_made) if fact),
        "bought": rope.bought.spoken() if rope.bought else None,
        "into service": rope.since.spoken() if rope.since else None,
        "used": "1 day" if rope.wear == 1 else f"{rope.wear} days",
        "examined": rope.last_inspected.spoken() if rope.last_inspected else "never here",
        "next due": rope.next_due.spoken() if rope.next_due else None,
        "cut from": rope.parent,
        "owner": rope.owner,
        "why not": rope.why_not,
    }
    return "\n".join(f"  {name:<13} {fact}" for name, fact in facts.items() if fact) + "\n"


def _what(store: OpenStore, event: Any) -> str:
    """An event in a line: its word and its details, lengths in capsules, people by name."""
    parts = []
    for field in dataclasses.fields(event):
        value = getattr(event, field.name)
        if field.name in ("happened", "rope", "written", "source") or value in (None, "", (), False):
            continue
        if value == field.default:
            continue
        parts.append(_detail(store, field.name, value))
    return f"{kind(event).replace('-', ' ')}  {', '.join(parts)}".rstrip()


def _detail(store: OpenStore, name: str, value: Any) -> str:
    if name == "into":
        return "into " + ", ".join(f"{piece.rope} {terminal.capsule(piece.length_cm)}" for piece in value)
    if name == "seen":
        return f"{len(value)} ropes seen"
    if name == "person":
        return f"by {store.people.name(value)}"
    if name == "note":
        return f"“{value}”"
    if isinstance(value, tuple):
        shown = [terminal.capsule(part) if name.endswith("_cm") else str(part) for part in value]
        return f"{name.removesuffix('_cm').replace('_', ' ')} {', '.join(shown)}"
    if name.endswith("_cm"):
        return terminal.capsule(value)
    if name == "length_m":
        return terminal.capsule(value * 100)
    for unit in ("_mm", "_g_per_m", "_g", "_c", "_years"):
        if name.endswith(unit):
            shown_unit = {"_g_per_m": "g/m", "_c": "°C"}.get(unit, unit[1:])
            return f"{name.removesuffix(unit).replace('_', ' ')} {value:g} {shown_unit}"
    if value is True:
        return name.replace("_", " ")
    spoken = value.spoken() if hasattr(value, "spoken") else value
    return f"{name.replace('_', ' ')} {spoken}"


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
        "marked_m": rope.marked_m,
        "diameter_mm": rope.diameter_mm,
        "type": rope.rope_type,
        "mass_g_per_m": rope.mass_g_per_m,
        "maker": rope.maker,
        "product": rope.product,
        "batch": rope.batch,
        "year_made": rope.year_made,
        "owner": rope.owner,
        "bought": iso(rope.bought),
        "in_service_since": iso(rope.since),
        "used_days": rope.wear,
        "last_examined": iso(rope.last_inspected),
        "next_due": iso(rope.next_due),
        "cut_from": rope.parent,
        "cut_into": list(rope.children),
        "why_not": rope.why_not,
        "findings": findings_json(findings),
    }
