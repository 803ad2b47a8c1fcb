"""The house rules that no other tool holds."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize("lock", sorted((ROOT / "requirements").glob("*.txt")), ids=lambda path: path.name)
def test_a_lock_holds_names_versions_and_hashes_and_no_address(lock: Path) -> None:
    text = lock.read_text(encoding="utf-8")
    assert "://" not in text
    assert not re.search(r"^\s*(-e|-f|-i|--(?!hash)|/|\.)", text, re.MULTILINE)
    packages = re.findall(r"^[a-z0-9._-]+==", text, re.MULTILINE)
    assert len(packages) > 10
    assert text.count("--hash=sha256:") > len(packages)


def test_nothing_below_the_command_line_grows_past_400_lines() -> None:
    too_long = {
        str(path.relative_to(ROOT)): count
        for path in (ROOT / "src").rglob("*.py")
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > 400
    }
    assert too_long == {}


def test_help_loads_nothing_heavy_so_that_it_comes_at_once() -> None:
    """Only modules are counted: wall-clock time belongs to the benchmarks."""
    heavy = ("numpy", "scipy", "reportlab", "tree_sitter", "python_calamine", "tomllib", "json", "dataclasses")
    rooms = ("tethera.basics", "tethera.store", "tethera.rigging", "tethera.planning", "tethera.labels")
    script = (
        "import sys\n"
        "from tethera.cli.main import main\n"
        "try:\n    main(['--help'])\n"
        "except SystemExit:\n    pass\n"
        f"print(sorted({{*{heavy!r}, *{rooms!r}}} & set(sys.modules)), file=sys.stderr)"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stderr.strip() == "[]"
    assert "plan" in ran.stdout
