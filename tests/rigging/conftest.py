"""The three invented routes, and short ways to write one."""

from pathlib import Path

import pytest

from tethera.rigging import read_route

DATA = Path(__file__).resolve().parents[2] / "src" / "tethera" / "cli" / "demo_data"
NAMES = ("short", "classic", "deep")


@pytest.fixture(scope="session")
def texts():
    """The example files by name."""
    return {name: (DATA / f"{name}.toml").read_text(encoding="utf-8") for name in NAMES}


@pytest.fixture(scope="session")
def routes(texts):
    """The example routes by name."""
    return {name: read_route(text, source=name).route for name, text in texts.items()}
