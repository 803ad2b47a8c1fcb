"""What benchmarks/guided_fuzz.py counts as a fault: else a search that finds nothing would say nothing."""

import importlib.util
import signal
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture
def watch(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The module that watches, with little patience."""
    path = Path(__file__).parents[1] / "benchmarks" / "guided" / "watch.py"
    spec = importlib.util.spec_from_file_location("guided_watch", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    monkeypatch.setattr(module, "MOST_S", 0.05)
    return module


def faults(watch: ModuleType, act: Callable[[bytes], object], folder: Path) -> list[str]:
    watched = watch.Watched(act, (ValueError,), folder)
    before = signal.signal(signal.SIGVTALRM, watch._too_slow)
    try:
        watched(b"what was given")
    finally:
        signal.signal(signal.SIGVTALRM, before)
    found: list[str] = watched.state["faults"]
    assert all(each.read_bytes() == b"what was given" for each in folder.glob("fault-????????????"))
    assert len(list(folder.glob("fault-*.txt"))) == len(found)
    return found


def raising(error: BaseException) -> Callable[[bytes], object]:
    def act(_data: bytes) -> object:
        raise error

    return act


def endless(_data: bytes) -> object:
    while True:
        try:
            while True:
                pass
        except Exception:  # as a reader that takes everything for a broken file
            return None


def test_a_result_and_a_complaint_in_words_are_no_faults(watch: ModuleType, tmp_path: Path) -> None:
    assert faults(watch, len, tmp_path) == []
    assert faults(watch, raising(ValueError("line 3: expected a length, as 22 m")), tmp_path) == []


@pytest.mark.parametrize(
    ("act", "told"),
    [
        (raising(KeyError("slug")), "KeyError"),
        (raising(AssertionError("half written")), "AssertionError"),
        (raising(MemoryError()), "MemoryError"),
        (raising(ValueError("")), "NotInWords"),
        (raising(ValueError("x" * 2000)), "NotInWords"),
        (raising(ValueError("invalid literal for int() with base 10: 'x'")), "NotInWords"),
        (endless, "TooSlow"),
    ],
)
def test_everything_else_is_a_fault_whose_input_is_kept(
    watch: ModuleType, tmp_path: Path, act: Callable[[bytes], object], told: str
) -> None:
    (found,) = faults(watch, act, tmp_path)
    assert found.startswith(told)
