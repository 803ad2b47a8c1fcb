"""What a rope waits for before it is ready, in the order it is done."""

from tethera.store.rope_state import Wait

WAITS: tuple[Wait, ...] = ("wash", "dry", "measure", "mark", "check", "put into service")


def with_wait(waits: tuple[Wait, ...], *more: Wait) -> tuple[Wait, ...]:
    """What a rope waits for, with more to do, in the order it is done."""
    return tuple(each for each in WAITS if each in waits or each in more)


def without_wait(waits: tuple[Wait, ...], *done: Wait) -> tuple[Wait, ...]:
    """What a rope waits for once these are done."""
    return tuple(each for each in waits if each not in done)
