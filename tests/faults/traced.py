"""What a program asked of the system, and when, by strace: writing, waiting for the disk, answering, in their order."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

CALLS = "trace=write,pwrite64,fsync,fdatasync,sendto,recvfrom"
_LINE = re.compile(r"(?P<thread>\d+) +(?P<began>\d+\.\d+) (?P<rest>.*)")
_CALL = re.compile(r"(?P<name>\w+)\((?P<text>.*)", re.DOTALL)
_RESUMED = re.compile(r"<\.\.\. (?P<name>\w+) resumed>(?P<text>.*)", re.DOTALL)
_TOOK = re.compile(r"<(\d+\.\d+)>$")


@dataclass(frozen=True)
class Call:
    """One call: by which thread, from when to when [s], and all that it said."""

    thread: int
    name: str
    began_s: float
    ended_s: float
    text: str


def found() -> str | None:
    """Where strace is."""
    return shutil.which("strace")


def wrapped(into: Path) -> list[str]:
    """The words before a command that is to be traced with all its threads and children."""
    # Only the calls that are asked for stop the program: else it would be many times slower.
    return ["strace", "-f", "--seccomp-bpf", "-y", "-ttt", "-T", "-s", "20000", "-e", CALLS, "-o", str(into)]


@contextmanager
def watching(process: int, into: Path) -> Iterator[None]:
    """Trace a process that runs already, and what it starts from now on."""
    words = [each for each in wrapped(into) if each != "--seccomp-bpf"]
    tracer = subprocess.Popen([*words, "-p", str(process)], stderr=subprocess.PIPE)
    assert tracer.stderr is not None
    assert b"attached" in tracer.stderr.readline()
    try:
        yield
    finally:
        tracer.terminate()
        tracer.communicate(timeout=30)


def calls(path: Path) -> list[Call]:
    """Every call of a trace that ended, in the order in which they ended."""
    begun: dict[int, tuple[str, float, str]] = {}
    ended = []
    for line in path.read_text(errors="replace").splitlines():
        told = _LINE.fullmatch(line)
        if told is None:
            continue
        thread, began_s, rest = int(told["thread"]), float(told["began"]), told["rest"]
        if rest.endswith("<unfinished ...>") and (call := _CALL.match(rest)):
            begun[thread] = (call["name"], began_s, call["text"])
            continue
        if resumed := _RESUMED.match(rest):
            name, began_s, text = begun.pop(thread, (resumed["name"], began_s, ""))
            text += resumed["text"]
        elif call := _CALL.match(rest):
            name, text = call["name"], call["text"]
        else:
            continue
        took = _TOOK.search(text)
        if took:
            ended.append(Call(thread, name, began_s, began_s + float(took[1]), text))
    return sorted(ended, key=lambda each: each.ended_s)


def kept_after(made: list[Call], writes: Call, file: str) -> Call | None:
    """The first wait for the disk by the same thread after a write, on a file of that name; None without one."""
    waits = (each for each in made if each.name in ("fsync", "fdatasync") and file in each.text)
    return next(
        (e for e in waits if e.thread == writes.thread and e.began_s >= writes.ended_s and " = 0 " in e.text), None
    )
