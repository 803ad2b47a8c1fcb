"""What docs/anchors.md shows is what comes out."""

import doctest
from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs"


def test_the_example_of_the_manual_runs() -> None:
    found = doctest.testfile(str(DOCS / "anchors.md"), module_relative=False)
    assert found.attempted > 2
    assert found.failed == 0
