"""Damage route files and spreadsheets at random and hand them to the commands, as a user would.

    python benchmarks/damaged_files.py [--count 2000] [--seed 1]

Prints how many ended in each exit status and how many in a mistake of Tethera's own (must be 0). Half the files are
routes (`tethera needs`), half spreadsheets (`tethera import --dry-run`, read in its child process).
"""

import argparse
import contextlib
import io
import random
import tempfile
from collections import Counter
from pathlib import Path

import openpyxl

from tethera.basics import read_workbook
from tethera.cli.main import main as tethera

DEMO = Path(__file__).parents[1] / "src" / "tethera" / "cli" / "demo_data"
ODD = ("[", "]", '"', "=", "\n", "\x00", "é", "-", "1e999", "nan", "9" * 40, "m", "[[pitch]]\n", "= {", "\u202e")


def damaged(data: bytes, chance: random.Random) -> bytes:
    """The same bytes with one to six pieces cut, doubled, swapped, flipped or replaced."""
    for _ in range(chance.randint(1, 6)):
        at, long = chance.randrange(len(data) + 1), chance.randint(1, 40)
        piece = data[at : at + long]
        new = chance.choice(
            (
                b"",
                piece * 2,
                piece[::-1],
                bytes(b ^ 1 << chance.randrange(8) for b in piece),
                chance.choice(ODD).encode(),
            )
        )
        data = data[:at] + new + data[at + long :]
        if chance.random() < 0.05:
            data = data[: chance.randrange(len(data) + 1)]
    return data


def workbook() -> bytes:
    """The demo's spreadsheet as .xlsx."""
    book = openpyxl.Workbook()
    sheet = book.active
    for row in read_workbook((DEMO / "ropes.csv").read_bytes(), "ropes.csv")[0].rows:
        sheet.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def status_of(words: list[str]) -> str:
    """Exit status of a command, or what went wrong."""
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            status = str(tethera(words))
        except BaseException as error:  # whatever gets out would reach the user as a traceback
            return f"TRACEBACK {type(error).__name__}"
    return "MISTAKE: " + said.getvalue()[:300] if "mistake of its own" in said.getvalue() else status


def main() -> None:
    """Damage, run, count."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    words = parser.parse_args()
    chance = random.Random(words.seed)
    routes = [(DEMO / f"{name}.toml").read_bytes() for name in ("short", "classic", "deep")]
    sheets = [(".csv", (DEMO / "ropes.csv").read_bytes()), (".xlsx", workbook())]
    counted: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for number in range(words.count):
            if number % 2:
                path, command = Path(folder) / "route.toml", ["needs"]
                path.write_bytes(damaged(chance.choice(routes), chance))
                end: list[str] = []
            else:
                ending, data = chance.choice(sheets)
                path, command = Path(folder) / f"ropes{ending}", ["import"]
                path.write_bytes(damaged(data, chance))
                end = ["--code", "UG", "--dry-run"]
            counted[f"{command[0]} {status_of([*command, str(path), *end, '--store', f'{folder}/none'])}"] += 1
    for what, count in sorted(counted.items()):
        print(f"{count:6}  exit {what}")
    wrong = sum(count for what, count in counted.items() if "TRACEBACK" in what or "MISTAKE" in what)
    print(f"{words.count} damaged files, {wrong} tracebacks or mistakes of Tethera's own")


if __name__ == "__main__":
    main()
