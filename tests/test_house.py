"""The house rules that no other tool holds."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
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


def test_no_module_at_a_door_grows_past_250_lines() -> None:
    too_long = {
        str(path.relative_to(ROOT)): count
        for door in ("cli", "web")
        for path in (ROOT / "src" / "tethera" / door).rglob("*.py")
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > 250
    }
    assert too_long == {}


#: One mapping each, or one list of checks, that reads better whole.
LONGER = {"as_mapping", "_pitch_findings", "rigging_sheet"}


def _ours() -> Iterator[tuple[Path, ast.Module]]:
    for path in sorted((ROOT / "src").rglob("*.py")):
        if "migrations" not in path.parts:
            yield path.relative_to(ROOT), ast.parse(path.read_text(encoding="utf-8"))


def test_no_function_grows_past_45_lines() -> None:
    too_long = [
        f"{path}: {each.name}"
        for path, tree in _ours()
        for each in ast.walk(tree)
        if isinstance(each, ast.FunctionDef) and (each.end_lineno or 0) - each.lineno >= 45 and each.name not in LONGER
    ]
    assert too_long == []


def test_whatever_others_may_use_says_what_it_is() -> None:
    def silent(body: list[ast.stmt]) -> Iterator[str]:
        for each in body:
            if isinstance(each, ast.FunctionDef | ast.ClassDef) and not each.name.startswith("_"):
                if ast.get_docstring(each) is None and each.name != "Meta":
                    yield each.name
                if isinstance(each, ast.ClassDef):
                    yield from silent(each.body)

    assert [f"{path}: {name}" for path, tree in _ours() for name in silent(tree.body)] == []


def test_no_module_reaches_for_what_another_keeps_to_itself() -> None:
    files = [*(ROOT / "src").rglob("*.py"), *(ROOT / "tests").rglob("*.py")]
    reached = [
        f"{path.relative_to(ROOT)}: {name.name}"
        for path in files
        for each in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(each, ast.ImportFrom) and (each.module or "").startswith("tethera")
        for name in each.names
        if name.name.startswith("_") and not name.name.startswith("__")
    ]
    assert reached == []


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
