"""The record of a rope as its PDF wants it: what EN 365 asks, the examinations, the whole life, photographs."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from tethera.basics import PartialDate
from tethera.store import DocumentAttached, LifeLine, RopeState, equipment_record, life
from tethera.web.paper.shown import shown_length
from tethera.web.store.models import Store
from tethera.web.store.opened import OpenedStore, held
from tethera.web.store.photos import is_photo, photos_folder, place_of
from tethera.web.work.doing import Progress, does
from tethera.web.work.files import whole_file
from tethera.web.work.models import Work

#: So many records are made while somebody waits; more is long work.
AT_ONCE = 5
STORE_RECORD = "store-record"
Name = Callable[[str], str]


def record(opened: OpenedStore, store: Store, rope: RopeState, on: date, name: Name) -> dict[str, Any]:
    """One rope's record, as plain values."""
    asked = equipment_record(opened.register, rope.id, on, name)
    lines = life(opened.register, rope.id, name, lambda cm: f"({shown_length(cm)})")
    return {
        "rope": rope.id,
        "state": rope.state,
        "length_cm": rope.length_cm,
        "marked_m": rope.marked_m,
        "last_examined": rope.last_inspected,
        "next_due": PartialDate.of(rope.inspection_due) if rope.inspection_due else None,
        "facts": list(asked.facts),
        "examinations": [each.as_mapping() for each in asked.examinations],
        "life": [_line(each, name) for each in lines],
        "findings": [{"message": each.message, "way_out": each.way_out} for each in rope.findings],
        "photos": _photos(opened, rope.id),
        "lacking": list(asked.lacking),
    }


def _line(line: LifeLine, name: Name) -> dict[str, Any]:
    return {
        "date": line.happened,
        "words": line.words,
        "recorded": timezone.localtime(line.recorded).date(),
        "by": name(line.by) if line.by else None,
        "was": line.was,
        "was_date": line.was_happened,
        "reason": line.reason,
        "corrected": timezone.localtime(line.corrected).date() if line.corrected else None,
        "corrected_by": name(line.corrected_by) if line.corrected_by else None,
        "struck": line.struck,
    }


def _photos(opened: OpenedStore, rope: str) -> list[dict[str, Any]]:
    found = []
    for entry in opened.register.events(rope):
        if isinstance(entry.event, DocumentAttached):
            path = place_of(photos_folder(), entry.event.sha256) if is_photo(entry.event.sha256) else None
            jpeg = path.read_bytes() if path is not None and path.is_file() else None
            found.append({"title": entry.event.title, "date": entry.event.happened, "jpeg": jpeg})
    return found


def proof(opened: OpenedStore) -> str:
    """What stands at the foot of a printed record: the head of all that was recorded, or where it does not hold."""
    chain = opened.chain()
    if chain.broken is not None:
        told = _("The record is NOT as it was written, from event {number} on: tethera verify says more.")
        return told.format(number=chain.broken.first)
    return _("Head of the record {head}").format(head=chain.head.short())


def _called(opened: OpenedStore) -> Name:
    names = opened.people.names()
    return lambda person: names.get(person) or person


@does(STORE_RECORD)
def store_record(work: Work, progress: Progress) -> None:
    """The records of many ropes, one after the other, into one file."""
    # Every command that opens a database imports this module; few of them set pages.
    from tethera import labels

    ropes, found = work.asked["ropes"], []
    today = timezone.localdate()
    for done, number in enumerate(ropes):
        progress(done, len(ropes) + 1, _("rope {number}").format(number=number))
        with held(work.store_id) as opened:
            state = opened.register.rope(number, today)
            found.append(record(opened, work.store, state, today, _called(opened)))
    progress(len(ropes), len(ropes) + 1, _("setting the pages"))
    with held(work.store_id) as opened:
        foot = proof(opened)
    with whole_file(work.path) as file:
        file.write(labels.record_pdf(found, work.store.name, today, foot))
    work.file_name = f"record-{work.store.slug}.pdf"
