"""What goes into the store at the terminal: a spreadsheet brought in, and what was done to ropes."""

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tethera.basics import Finding, PartialDate, read_date
from tethera.cli import details, places, terminal
from tethera.cli.errors import WrongInput
from tethera.cli.main import DONE
from tethera.cli.places import OpenStore
from tethera.cli.routes import findings_json
from tethera.store import Bought, Cut, Event, Piece, RopeEvent, encode_event, kind


def record(words: argparse.Namespace) -> int:
    """Record what was done to one or several ropes, all or nothing."""
    if words.what is None:
        return _list_events(words)
    event_type = details.event_kind(words.what)
    store = places.open_store(words.store)
    ropes = [word for word in words.words if "=" not in word]
    typed = dict(word.split("=", 1) for word in words.words if "=" in word)
    happened, doubts = happened_on(words.on)
    by = places.acting(store, words.by)
    if event_type is Cut:
        return _record_cut(words, store, ropes, typed, happened, by)
    fields, more = details.read_details(event_type, typed, store.person)
    doubts += more
    if event_type is Bought and not ropes:
        new, found = store.register.record_new(
            1, lambda numbers: [Bought(happened=happened, rope=numbers[0], **fields)], recorded=places.now(), by=by
        )
        return _told(words, event_type, new, (*doubts, *found))
    events = _events(event_type, store, ropes, happened, fields)
    places.check_may(store, by, events)
    found = store.register.record_all(events, recorded=places.now(), by=by)
    return _told(words, event_type, [e.rope for e in events if isinstance(e, RopeEvent)], (*doubts, *found))


def _events(
    event_type: type[Event], store: OpenStore, ropes: Sequence[str], happened: PartialDate, fields: dict[str, Any]
) -> list[Event]:
    if not issubclass(event_type, RopeEvent):
        return [event_type(happened=happened, **fields)]
    if not ropes:
        raise WrongInput(f"Say which rope: tethera record {kind(event_type)} UG41 …")
    # A number that is not known yet is only right for a rope that came in.
    known = [rope.upper() if event_type is Bought else store.register.find(rope) for rope in ropes]
    return [event_type(happened=happened, rope=rope, **fields) for rope in known]


def _record_cut(
    words: argparse.Namespace,
    store: OpenStore,
    ropes: Sequence[str],
    typed: dict[str, str],
    happened: PartialDate,
    by: str,
) -> int:
    """A cut gives its pieces new numbers: into=30m,20m."""
    if len(ropes) != 1 or "into" not in typed:
        raise WrongInput("Say which rope and into what lengths: tethera record cut UG41 into=30m,20m")
    unknown = typed.keys() - {"into", "reason", "note"}
    if unknown:
        raise WrongInput(
            f"cut has no detail “{min(unknown)}”. It takes: into, reason, note. The day is said with --on."
        )
    rope = store.register.find(ropes[0])
    lengths_cm = [details.piece_cm(part) for part in typed["into"].split(",")]
    reason, note = typed.get("reason", ""), typed.get("note", "")

    def cut(numbers: Sequence[str]) -> list[Event]:
        pieces = tuple(Piece(rope=n, length_cm=cm) for n, cm in zip(numbers, lengths_cm, strict=True))
        return [Cut(happened=happened, rope=rope, into=pieces, reason=reason, note=note)]

    new, found = store.register.record_new(len(lengths_cm), cut, recorded=places.now(), by=by)
    return _told(words, Cut, [rope, *new], found)


def happened_on(on: str | None) -> tuple[PartialDate, list[Finding]]:
    """The day, month or year that --on says, else today; WrongInput where it cannot be read."""
    if on is None:
        return PartialDate.of(places.today()), []
    reading = read_date(on, where="--on")
    if reading.date is None:
        raise WrongInput(str(reading.findings[0]))
    return reading.date, list(reading.findings)


def _told(words: argparse.Namespace, event_type: type[Event], ropes: Sequence[str], findings: Sequence[Finding]) -> int:
    if words.json:
        answer = {"recorded": kind(event_type), "ropes": list(ropes), "findings": findings_json(tuple(findings))}
        print(json.dumps(answer, indent=2, ensure_ascii=False))
        return DONE
    terminal.say(f"Recorded: {kind(event_type).replace('-', ' ')}  {' '.join(ropes)}".rstrip())
    if findings:
        terminal.say(terminal.doubts(findings))
    return DONE


def _list_events(words: argparse.Namespace) -> int:
    if words.json:
        rows = [{"event": word, "meaning": meaning, "details": names} for word, meaning, names in details.all_events()]
        print(json.dumps(rows, indent=2, ensure_ascii=False))
        return DONE
    terminal.say("What can be recorded:  tethera record WHAT ROPE … name=value … --on DAY\n")
    for word, meaning, names in details.all_events():
        terminal.say(terminal.paragraph(f"{word:<18}{meaning}", hanging=" " * 18))
        terminal.say(terminal.paragraph(names, indent=" " * 18) if names else "")
    return DONE


def import_spreadsheet(words: argparse.Namespace) -> int:
    """Bring in ropes from a spreadsheet, every doubtful cell shown, or a store from its export; all or nothing."""
    from tethera.cli import exchange
    from tethera.cli.importing import bring_in
    from tethera.store.exchange import form_of

    path = Path(words.file)
    if not path.is_file():
        raise WrongInput(f"{words.file}: there is no such file.")
    if path.suffix.lower() == ".zip":
        raise WrongInput(f"{path.name}: a backup is brought back with  tethera restore {path.name} --store NEW-FOLDER")
    with path.open("rb") as file:
        form = form_of(file)
    if form is not None:
        return exchange.bring_back(path, form, words)
    answer = bring_in(path, words)
    if words.json:
        print(json.dumps(answer.as_mapping(encode_event), indent=2, ensure_ascii=False))
    else:
        terminal.say(answer.in_words())
    return DONE
