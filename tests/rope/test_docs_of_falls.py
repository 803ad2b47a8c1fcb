"""The notebook lines of the manual run, and name only what is there."""

import re
from pathlib import Path

import pytest

import tethera.rope

DOCS = Path(__file__).parents[2] / "docs"


@pytest.mark.parametrize("name", ["falls", "stretch"])
def test_the_lines_for_a_notebook_run(name: str) -> None:
    text = (DOCS / f"{name}.md").read_text(encoding="utf-8")
    (lines,) = re.findall(r"```python\n(.*?)```", text, re.DOTALL)
    known: dict[str, object] = {}
    exec(compile(lines, f"{name}.md", "exec"), known)
    assert {"np"} <= set(known)


@pytest.mark.parametrize("name", ["falls", "stretch"])
def test_every_name_in_the_tables_is_on_the_face_of_the_room(name: str) -> None:
    text = (DOCS / f"{name}.md").read_text(encoding="utf-8")
    table = text[text.rindex("| | |\n") :]
    named = {each.split(".")[0] for each in re.findall(r"`([A-Za-z_][\w.]*)`", table) if "/" not in each}
    assert len(named) >= 8
    assert named - set(tethera.rope.__all__) == set()
