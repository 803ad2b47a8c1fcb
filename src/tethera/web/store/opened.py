"""Stores that this process has folded: one register a store, used by one thread at a time."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from threading import RLock

from django.db import transaction

from tethera.store import Chain, Register, RopeState, Waiting
from tethera.web.store.log import DatabaseLog
from tethera.web.store.models import Store
from tethera.web.store.people import DatabasePeople


@dataclass
class OpenedStore:
    """A store's log, the register over it and its people. Use it inside `held`."""

    key: int
    log: DatabaseLog
    register: Register
    people: DatabasePeople
    _ropes: tuple[int, date, tuple[RopeState, ...]] | None = field(default=None, repr=False)
    _waiting: tuple[int, date, tuple[Waiting, ...]] | None = field(default=None, repr=False)
    _chain: Chain = field(default_factory=Chain, repr=False)

    def chain(self) -> Chain:
        """The record's chain, walked over what was recorded since it was asked last."""
        return self._chain.extend(self.log.read()[self._chain.head.length :])

    def ropes(self, on: date) -> tuple[RopeState, ...]:
        """Every rope on a day; worked out anew only after something was recorded."""
        length = len(self.register)
        if self._ropes is None or self._ropes[:2] != (length, on):
            self._ropes = (length, on, self.register.ropes(on, by_shrinkage=True))
        return self._ropes[2]

    def waiting(self, on: date) -> tuple[Waiting, ...]:
        """What waits on a day; worked out anew only after something was recorded."""
        length = len(self.register)
        if self._waiting is None or self._waiting[:2] != (length, on):
            self._waiting = (length, on, self.register.to_do(on))
        return self._waiting[2]


_guard = threading.Lock()
_locks: dict[int, RLock] = {}
_opened: dict[int, OpenedStore] = {}


@contextmanager
def held(store_key: int) -> Iterator[OpenedStore]:
    """The store, for this thread alone until the block ends."""
    with _guard:
        lock = _locks.setdefault(store_key, threading.RLock())
    with lock:
        opened = _opened.get(store_key)
        if opened is None:
            log = DatabaseLog(store_key)
            opened = _opened[store_key] = OpenedStore(store_key, log, Register(log), DatabasePeople(store_key))
        yield opened


@contextmanager
def let_go(store_key: int) -> Iterator[None]:
    """Inside `held`, the store for others until the block ends; inside a second one, as in `writing`, they still wait.

    What was read of the store before may not hold after it.
    """
    lock = _locks[store_key]
    lock.release()
    try:
        yield
    finally:
        lock.acquire()


@contextmanager
def writing(store_key: int) -> Iterator[OpenedStore]:
    """The same inside one transaction. If it cannot be kept, what the register read of it is forgotten."""
    with held(store_key) as opened:
        before = len(opened.log.read_so_far())
        try:
            with transaction.atomic():
                Store.objects.select_for_update().get(pk=store_key)
                before = len(opened.register)
                yield opened
        except BaseException:
            # Refused before anything was written is the usual case, and needs no new reading.
            if len(opened.log.read_so_far()) != before:
                forget(store_key)
            raise


def forget(store_key: int | None = None) -> None:
    """Read the store, or every store, anew at the next visit."""
    with _guard:
        for key in [store_key] if store_key is not None else list(_opened):
            _opened.pop(key, None)
