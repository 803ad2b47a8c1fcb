"""Every key that a command prints as JSON is in the manual."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

MANUAL = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")
WORDS = set(re.findall(r"`([a-z_]+)`", MANUAL)) | set(
    re.findall(r"[a-z_]+", " ".join(re.findall(r"`\{(.*?)\}`", MANUAL)))
)
#: Fields of events, pitches and anchors are told in the glossary and in the manual of routes.
ELSEWHERE = ("life", "events", "pitches_of_a_sheet", "kit", "totals")


def keys(value: Any, *, inside: str = "") -> Iterator[str]:
    """Keys at every depth, but for what is told elsewhere."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield key
            if key not in ELSEWHERE and inside != "columns":
                yield from keys(part, inside=key)
    elif isinstance(value, list):
        for part in value:
            yield from keys(part, inside=inside)


def test_every_key_of_ropes_needs_plan_bags_import_and_record_is_in_the_manual(store: Callable[..., Any]) -> None:
    answers = {
        "ropes": store("ropes", "--json").json,
        "rope": store("rope", "QT1", "--json").json,
        "needs": store("needs", "quillet.toml", "--json").json,
        "plan": store("plan", "quillet.toml", "--json").json,
        "bags": store("bags", "quillet.toml", "--json").json,
        "import": {**store("import", "ropes.csv", "--dry-run", "--json").json, "columns": {}},
        "record": store("record", "washed", "QT1", "--json").json,
        "events": store("record", "--json").json,
    }
    missing = {(command, key) for command, answer in answers.items() for key in keys(answer) if key not in WORDS}
    assert missing == set()


def test_the_top_keys_of_a_sheet_are_in_the_manual(store: Callable[..., Any]) -> None:
    (sheet,) = store("sheet", "quillet.toml", "--json").json
    assert set(sheet) <= WORDS
