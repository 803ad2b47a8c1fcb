"""The invented sheets of `samples.py` as fixtures, since test folders are no packages."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

_SPEC = importlib.util.spec_from_file_location("labels_samples", Path(__file__).with_name("samples.py"))
assert _SPEC is not None
assert _SPEC.loader is not None
_SAMPLES = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(_SAMPLES)


@pytest.fixture(scope="session")
def samples() -> ModuleType:
    return _SAMPLES


@pytest.fixture(params=["short_sheet", "coarse_sheet", "deep_sheet", "long_drop_sheet"])
def sheet(request: pytest.FixtureRequest) -> dict[str, object]:
    made: dict[str, object] = getattr(_SAMPLES, request.param)()
    return made
