"""Whether a weakness is known in anything that the locks name: `make audit`.

pip-audit asks the advisories; this reads its report. What could not be asked about passes there as if it were well;
here it is told.
"""

import json
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

#: What is locked. The audit's own lock is among it: it reads what others wrote.
LOCKS = sorted(Path(__file__).parent.glob("*.txt"))


@dataclass(frozen=True, slots=True)
class Report:
    """Packages asked about, lines on what is known of them, and names that nobody could be asked about."""

    asked: int
    known: tuple[str, ...]
    unasked: tuple[str, ...]


def read(told: str) -> Report:
    """The report of `pip-audit --format json`.

    >>> read('{"dependencies": [{"name": "a", "version": "1", "vulns": []}, {"name": "b", "skip_reason": ""}]}')
    Report(asked=1, known=(), unasked=('b',))
    """
    packages = json.loads(told)["dependencies"]
    asked = [each for each in packages if "skip_reason" not in each]
    known = tuple(
        f"{each['name']} {each['version']}: {', '.join([one['id'], *one.get('aliases', [])])}, "
        + (f"mended in {', '.join(one['fix_versions'])}" if one["fix_versions"] else "not mended yet")
        for each in asked
        for one in each["vulns"]
    )
    return Report(len(asked), known, tuple(each["name"] for each in packages if "skip_reason" in each))


def words(report: Report) -> list[str]:
    """What to say of a report, the bad first."""
    lines = [f"A weakness is known in {each}." for each in report.known]
    if report.known:
        lines.append("Change the version in pyproject.toml where one is asked for, then: make lock")
    if report.unasked and not report.asked:
        lines.append(
            f"NOT AUDITED: nobody could be asked about any of {len(report.unasked)} packages. Try again with a network."
        )
    elif report.unasked:
        lines.append(f"NOT AUDITED, nobody could be asked about: {', '.join(report.unasked)}")
    return [*lines, f"{report.asked} packages asked about, {len(report.known)} weaknesses known."]


def passes(report: Report, *, unreached_is_told: bool) -> bool:
    """Whether nothing is known and all was asked; with `unreached_is_told` the second is only said."""
    return not report.known and (unreached_is_told or not report.unasked)


def _ask(locks: Iterable[Path]) -> Report:
    files = [part for lock in locks for part in ("-r", str(lock))]
    command = [sys.executable, "-m", "pip_audit", *files, "--require-hashes", "--disable-pip", "--format", "json"]
    done = subprocess.run([*command, "--progress-spinner", "off"], capture_output=True, text=True, check=False)
    try:
        return read(done.stdout)
    except (ValueError, KeyError):
        # Without a report nothing was asked; its last line says why.
        sys.stderr.write((done.stderr.strip() or "pip-audit said nothing").splitlines()[-1] + "\n")
        return Report(0, (), tuple(lock.name for lock in locks))


if __name__ == "__main__":
    found = _ask(LOCKS)
    sys.stderr.write("\n".join(words(found)) + "\n")
    sys.exit(not passes(found, unreached_is_told="--unreached-is-told" in sys.argv[1:]))
