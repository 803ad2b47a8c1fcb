"""What we lean on: each chosen on purpose, under a licence that lets everybody use it, and audited."""

import json
import re
import runpy
import tomllib
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
AUDIT = runpy.run_path(str(ROOT / "requirements" / "audit.py"))


def _name(asked_for: str) -> str:
    return re.split(r"[\[<>=;, ]", asked_for, maxsplit=1)[0].lower()


def test_each_dependency_has_its_line_of_reasons() -> None:
    reasons = (ROOT / "docs" / "decisions" / "0002-dependencies.md").read_text("utf-8").lower()
    extras = PROJECT["optional-dependencies"]
    asked_for = {
        _name(each) for each in [*PROJECT["dependencies"], *(one for extra in extras.values() for one in extra)]
    }
    missing = {each for each in asked_for if each.replace("_", "-") not in reasons and not each.startswith("types-")}
    assert missing == set()


def test_nothing_that_runs_is_under_a_licence_that_would_bind_who_uses_it() -> None:
    locked = re.findall(r"^([a-z0-9._-]+)==", (ROOT / "requirements" / "run.txt").read_text("utf-8"), re.MULTILINE)
    licences = {}
    for each in locked:
        try:
            told = metadata(each)
        except PackageNotFoundError:
            # Locked for another system or another Python than this one.
            continue
        classed = [line for line in told.get_all("Classifier") or [] if line.startswith("License ::")]
        licences[each] = " ".join([told.get("License-Expression") or "", (told.get("License") or "")[:200], *classed])
    assert len(licences) > 0.8 * len(locked)
    assert [each for each, words in licences.items() if not words.strip()] == []
    # LGPL may be used by what is under another licence; GPL and AGPL may not.
    bound = [
        each for each, words in licences.items() if re.search(r"(?<!L)GPL|Affero|(?<!Lesser )General Public", words)
    ]
    assert bound == []


def _told(*packages: dict[str, object]) -> object:
    return AUDIT["read"](json.dumps({"dependencies": packages, "fixes": []}))


WELL = {"name": "reel", "version": "1.0", "vulns": []}
UNASKED = {"name": "bag", "skip_reason": "Dependency not found"}
#: The shape that pip-audit documents for its JSON.
WEAK = {
    "name": "knot",
    "version": "0.1",
    "vulns": [{"id": "PYSEC-2026-1", "fix_versions": ["0.2"], "aliases": ["CVE-2026-1"], "description": "slips"}],
}


def test_a_known_weakness_is_named_with_its_mending_and_never_passes() -> None:
    report = _told(WELL, WEAK)
    assert "A weakness is known in knot 0.1: PYSEC-2026-1, CVE-2026-1, mended in 0.2." in AUDIT["words"](report)
    assert not AUDIT["passes"](report, unreached_is_told=True)


@pytest.mark.parametrize(
    ("packages", "words"),
    [((WELL, UNASKED), "NOT AUDITED, nobody could be asked about: bag"), ((UNASKED,), "NOT AUDITED: nobody could")],
)
def test_what_nobody_could_be_asked_about_is_said_and_passes_only_where_that_is_asked_for(
    packages: tuple[dict[str, object], ...], words: str
) -> None:
    report = _told(*packages)
    assert any(line.startswith(words) for line in AUDIT["words"](report))
    assert not AUDIT["passes"](report, unreached_is_told=False)
    assert AUDIT["passes"](report, unreached_is_told=True)


def test_all_well_passes_and_says_how_many() -> None:
    report = _told(WELL)
    assert AUDIT["words"](report) == ["1 packages asked about, 0 weaknesses known."]
    assert AUDIT["passes"](report, unreached_is_told=False)


def test_every_lock_is_audited() -> None:
    assert {each.name for each in AUDIT["LOCKS"]} == {"run.txt", "dev.txt", "audit.txt"}
