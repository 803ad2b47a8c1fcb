"""The glossary is the one list: every event, field, state and finding stands in it."""

import dataclasses
import re
from pathlib import Path

import pytest

from tethera.store import EVENT_KINDS

ROOT = Path(__file__).parents[2]
GLOSSARY = (ROOT / "docs" / "glossary.md").read_text("utf-8")


@pytest.mark.parametrize("word", EVENT_KINDS)
def test_every_event_and_each_of_its_fields_is_in_the_glossary(word: str) -> None:
    assert f"| `{word}` |" in GLOSSARY
    for field in dataclasses.fields(EVENT_KINDS[word]):
        assert f"`{field.name}`" in GLOSSARY


def test_every_finding_about_a_rope_is_in_the_glossary() -> None:
    source = "".join((ROOT / "src/tethera/store" / name).read_text("utf-8") for name in ("rules.py", "state.py"))
    codes = set(re.findall(r'(?:yield|doubted)\s*\(?\s*"([a-z]+(?:-[a-z]+)+)"', source))
    assert len(codes) > 20
    assert [each for each in sorted(codes) if f"`{each}`" not in GLOSSARY] == []
