"""Kill those who write to the log in a file, again and again, and count what is left in it."""

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from faults.prepared import clean
from faults.record import Tally, numbered, tally
from tethera.basics import PartialDate
from tethera.store import Bought, DamagedLog, FileLog, Register

WRITERS = 8

#: Records one numbered entry after the other and says each number once it is on the disk, as a command does.
_WRITE = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from tethera.basics import PartialDate
from tethera.store import FileLog, Register, Washed
register = Register(FileLog(Path(sys.argv[1])))
who, turn = sys.argv[2], int(sys.argv[3])
print("ready", flush=True)
while True:
    print(f"sent {who}-{turn}", flush=True)
    washed = Washed(rope="UG1", happened=PartialDate(2024, 6, 1), how="hand", note=f"no {who}-{turn}.")
    register.record(washed, recorded=datetime.now(UTC))
    print(f"kept {who}-{turn}", flush=True)
    turn += 1
"""


def rounds(path: Path, times: int, chance: random.Random) -> Iterator[tuple[Tally, str]]:
    """Let eight write at once, kill them all, open the log anew; what stands in it, and what was mended."""
    bought = Bought(rope="UG1", happened=PartialDate(2024, 5, 1), length_cm=4400)
    Register(FileLog(path)).record(bought, recorded=datetime.now(UTC))
    acknowledged: list[str] = []
    attempted: list[str] = []
    for number in range(times):
        writers = [_writer(path, who, 1000 * number) for who in range(WRITERS)]
        for each in writers:
            assert each.stdout is not None
            assert each.stdout.readline() == b"ready\n"
        time.sleep(chance.uniform(0.0, 0.4))
        for each in writers:
            os.kill(each.pid, signal.SIGKILL)
        for each in writers:
            assert each.stdout is not None
            said = each.stdout.read().decode().split("\n")[:-1]
            each.stdout.close()
            each.wait(30)
            acknowledged += [line[5:] for line in said if line.startswith("kept ")]
            attempted += [line[5:] for line in said if line.startswith("sent ")]
        yield _looked_at(path, acknowledged, attempted)


def _writer(path: Path, who: int, turn: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-c", _WRITE, str(path), str(who), str(turn)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=clean())


def _looked_at(path: Path, acknowledged: list[str], attempted: list[str]) -> tuple[Tally, str]:
    """The log opens by itself, and holds what was acknowledged; DamagedLog would be a loss."""
    log = FileLog(path)
    try:
        found = numbered([getattr(each.event, "note", None) or "" for each in log.read()])
    except DamagedLog as damaged:
        raise AssertionError(f"the log did not open: {damaged}") from None
    return tally(acknowledged, attempted, found), log.repair or ""


def torn(path: Path, chance: random.Random) -> None:
    """What a power cut leaves that SIGKILL does not: the last line written in part."""
    whole = path.read_bytes()
    lines = whole.splitlines(keepends=True)
    path.write_bytes(whole[: len(whole) - chance.randrange(1, len(lines[-1]))])
