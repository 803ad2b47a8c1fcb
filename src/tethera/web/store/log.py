"""The log of events in the database: SQLite in the folder, or PostgreSQL, with the same lines of code."""

import json
from collections.abc import Sequence

from django.db import transaction

from tethera.store import (
    GENESIS,
    DamagedLog,
    LogMovedOn,
    Recorded,
    decode_recorded,
    encode_recorded,
    encode_to_keep,
    head_of,
    linked,
    sum_of,
)
from tethera.web.store.models import LoggedEvent, Store

_BATCH = 500


class DatabaseLog:
    """Events of one store. What was read once is kept: a log only grows."""

    def __init__(self, store_key: int) -> None:
        self._store = store_key
        self._events: tuple[Recorded, ...] = ()

    def read(self) -> Sequence[Recorded]:
        """Every event so far."""
        length = Store.objects.values_list("length", flat=True).get(pk=self._store)
        known = len(self._events)
        if length < known:
            raise DamagedLog(f"The log has {length} events, and had {known}. Start Tethera again over this database.")
        if length > known:
            fresh = LoggedEvent.objects.filter(store=self._store, number__gte=known, number__lt=length)
            rows = fresh.order_by("number").values_list("number", "body")
            self._events += tuple(_decoded(number, body) for number, body in rows.iterator(chunk_size=5000))
            if len(self._events) != length:
                raise DamagedLog(f"The log should have {length} events and has {len(self._events)}. Restore a backup.")
        return self._events

    def read_so_far(self) -> Sequence[Recorded]:
        """What was read, without asking the database."""
        return self._events

    def append(self, expected_length: int, events: Sequence[Recorded]) -> None:
        """Add all of the events or none, durable when the outermost transaction ends."""
        if not events:
            return
        for each in events:
            encode_to_keep(each)
        with transaction.atomic():
            # The row of the store is the lock between writers on PostgreSQL; SQLite locks the whole file.
            store = Store.objects.select_for_update().get(pk=self._store)
            if store.length != expected_length:
                raise LogMovedOn(expected_length, store.length)
            rows = [
                LoggedEvent(
                    store_id=self._store,
                    number=expected_length + place,
                    body=json.dumps(encode_recorded(each), ensure_ascii=False, allow_nan=False),
                )
                for place, each in enumerate(linked(events, self._last_sum(expected_length)))
            ]
            LoggedEvent.objects.bulk_create(rows, batch_size=_BATCH)
            store.length = expected_length + len(rows)
            store.save(update_fields=["length"])

    def _last_sum(self, length: int) -> str:
        """The sum that the next event carries: from the last row as it stands, whatever this process has read."""
        if not length:
            return GENESIS
        body = LoggedEvent.objects.values_list("body", flat=True).get(store=self._store, number=length - 1)
        last = _decoded(length - 1, body)
        return head_of(self.read()).sum if last.previous is None else sum_of(last, last.previous)


def _decoded(number: int, body: str) -> Recorded:
    try:
        return decode_recorded(json.loads(body))
    except (ValueError, RecursionError) as error:
        raise DamagedLog(f"Event {number} of the log cannot be read: {error}. Restore a backup.") from None
