"""Search for inputs that a reader of what others wrote does not stand, guided by which lines of Tethera they reach.

    pip install atheris          # Apache-2.0; Python 3.11 to 3.13 on Linux; only this benchmark needs it
    python benchmarks/guided_fuzz.py --seconds 120 [--keep FOLDER] [TARGET ...]

Begins from good files that Tethera itself has written and changes them, for most inside of what packs them (sums and
chains are made right again). The contract for each input: a result, or the reader's own complaint in words; within 10 s
of the processor and 1 GB; what is written is there whole or not at all. Everything else is a fault; its input is kept.
Needs what `make test` needs. Each target runs in a process of its own: libFuzzer ends the process it runs in.
"""

import argparse
import ast
import json
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

HERE, MEMORY = Path(__file__).parent, Path("/dev/shm")
sys.path[:0] = [str(HERE.parent / "src"), str(HERE.parent / "tests")]
os.environ["DJANGO_SETTINGS_MODULE"] = "pages_settings"

#: A target that ends its process so often before its time is not begun again.
_MOST_STARTS = 20
_HEAD = ("target", "inputs", "read", "a second", "edges", "faults", "slowest s", "most MB")


def main() -> int:
    """Run each target for its time, print the table; 1 when there was a fault."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("targets", nargs="*", metavar="TARGET", help="all of them when none is named")
    parser.add_argument("--seconds", type=int, default=120, help="for each target (default 120)")
    parser.add_argument("--keep", type=Path, help="where inputs are kept that made a fault (default: a new folder)")
    parser.add_argument("--list", action="store_true", help="print the names of the targets")
    parser.add_argument("--child", help=argparse.SUPPRESS)
    words = parser.parse_args()
    if words.child:
        _child(words.child, words.keep, words.seconds)
        return 0
    names = _names()
    if unknown := sorted(set(words.targets) - set(names)):
        parser.error(f"there is no target {', '.join(unknown)}; there are {', '.join(names)}")
    if words.list:
        print("\n".join(names))
        return 0
    keep = (words.keep or Path(tempfile.mkdtemp(prefix="guided-fuzz-"))).absolute()
    rows = [_row(name, keep / name.replace(" ", "-"), words.seconds) for name in words.targets or names]
    print("\n".join("| " + " | ".join(map(str, row)) + " |" for row in (_HEAD, ["---"] * len(_HEAD), *rows)))
    wrong = sum(int(row[_HEAD.index("faults")]) for row in rows)
    print(f"{sum(int(row[1].replace(',', '')) for row in rows):,} inputs, {wrong} faults; kept in {keep}")
    return 1 if wrong else 0


def _names() -> list[str]:
    """Asked of a process of its own: this one loads nothing that a target might lean on."""
    named = "import guided_fuzz; from guided.targets import targets; print('\\n'.join(targets()))"
    asked = [sys.executable, "-c", named]
    return subprocess.run(asked, cwd=HERE, check=True, capture_output=True, text=True).stdout.splitlines()


def _row(name: str, keep: Path, seconds: int) -> Sequence[str]:
    """Give inputs to a target for so long, however often its process ends before."""
    keep.mkdir(parents=True, exist_ok=True)
    until, states, edges, ended = time.monotonic() + seconds, list[dict[str, Any]](), 0, 0
    while (left := round(until - time.monotonic())) > 1 and len(states) < _MOST_STARTS:
        (keep / "state.json").unlink(missing_ok=True)
        with (keep / "said.txt").open("ab") as said:
            began = said.tell()
            asked = [sys.executable, __file__, "--child", name, "--keep", str(keep), "--seconds", str(left)]
            # On a disk in memory where there is one: what is written is taken away again after each input.
            with tempfile.TemporaryDirectory(dir=MEMORY if MEMORY.is_dir() else None) as own:
                where = {**os.environ, "TMPDIR": own}
                status = subprocess.run(asked, stdout=said, stderr=said, check=False, env=where).returncode
        told = (keep / "said.txt").read_bytes()[began:].decode("utf-8", "replace")
        edges = max([edges, *map(int, re.findall(r"\bcov: (\d+)", told))])
        if not (keep / "state.json").exists():
            raise SystemExit(f"{name} could not begin:\n{told[-3000:]}")
        states.append(json.loads((keep / "state.json").read_text("utf-8")))
        ended += status != 0
    faults = {each for state in states for each in state["faults"]}
    tried = sum(each["tried"] for each in states)
    for each in sorted(faults):
        print(f"  {name}: {each}", flush=True)
    if ended:
        print(f"  {name}: its process ended {ended} times before its time; see said.txt and the inputs beside it")
    row = (name, f"{tried:,}", f"{sum(each['read'] for each in states):,}", f"{tried / seconds:,.0f}", f"{edges:,}")
    worst = max(each["slowest_s"] for each in states), max(each["most_mb"] for each in states)
    row = (*row, str(len(faults) + ended), f"{worst[0]:.2f}", str(worst[1]))
    print(" | ".join(row), file=sys.stderr, flush=True)
    return row


def _child(name: str, keep: Path, seconds: int) -> None:
    """Fuzz one target; never returns."""
    import atheris

    # Never left again: some rooms are loaded only when they are first needed.
    atheris.instrument_imports(include=["tethera"]).__enter__()
    from guided.targets import targets
    from guided.watch import Watched

    target = targets()[name]()
    watched = Watched(target.act, target.complaints, keep)
    corpus = keep / "corpus"
    corpus.mkdir(exist_ok=True)
    for number, seed in enumerate(target.seeds):
        target.act(seed)  # a seed that is no good file would teach nothing
        (corpus / f"seed-{number}").write_bytes(seed)
    watched.tell()
    watched.limit()
    options = [f"-max_total_time={seconds}", "-timeout=60", "-rss_limit_mb=0", f"-artifact_prefix={keep}/"]
    options += [f"-max_len={target.most_bytes}", "-print_final_stats=1", "-verbosity=1"]
    if target.rooms:
        (keep / "words").write_text(_dictionary(target.rooms), "ascii")
        options.append(f"-dict={keep}/words")
    more = {}
    if target.shape is not None:
        from guided import shapes

        more = {"custom_mutator": shapes.within(getattr(shapes, target.shape), target.seeds)}
    atheris.Setup([sys.argv[0], *options, str(corpus)], watched, **more)
    atheris.Fuzz()


def _dictionary(rooms: Sequence[str]) -> str:
    """The words that stand in the modules of a reader, to be put into its inputs."""
    found: set[bytes] = set()
    for path in (path for room in rooms for path in sorted((HERE.parent / "src" / "tethera").glob(room))):
        for each in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(each, ast.Constant) and isinstance(each.value, str) and len(each.value) <= 30:
                found.update(part.encode() for part in (each.value, *each.value.split("|")) if part)
    return "".join('"' + "".join(f"\\x{byte:02x}" for byte in word) + '"\n' for word in sorted(found))


if __name__ == "__main__":
    sys.exit(main())
