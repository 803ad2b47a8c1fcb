"""What docs/deploy.md hands out fits the program: settings that it knows, commands it has, units that systemd reads."""

import re
import runpy
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tethera.cli import parser

ROOT = Path(__file__).parents[1]
HANDED_OUT = sorted((ROOT / "docs" / "deploy").iterdir())
MANUALS = [(ROOT / "docs" / name).read_text("utf-8") for name in ("deploy.md", "serving.md")]


def _settings(text: str) -> set[str]:
    return set(re.findall(r"TETHERA_[A-Z_]+", text))


def test_every_setting_handed_out_is_one_that_the_program_reads_and_the_manual_names() -> None:
    known = {name for path in (ROOT / "src").rglob("*.py") for name in _settings(path.read_text("utf-8"))}
    for path in (*HANDED_OUT, ROOT / "docs" / "deploy.md"):
        asked = _settings(path.read_text("utf-8"))
        assert asked <= known, path
        assert asked <= _settings("".join(MANUALS)), path


def test_every_file_handed_out_is_named_in_the_manual() -> None:
    assert {each.name for each in HANDED_OUT} == set(re.findall(r"\(deploy/([^)]+)\)", MANUALS[0]))


def test_the_commands_of_the_units_and_containers_are_there() -> None:
    told = "".join(each.read_text("utf-8") for each in HANDED_OUT)
    assert "tethera work" in told
    assert parser.build().parse_args(["work"]).run == "serving:work"
    assert told.count("python:tethera.web.gunicorn_conf") == 2
    made = runpy.run_path(str(ROOT / "src" / "tethera" / "web" / "gunicorn_conf.py"))
    assert made["wsgi_app"] == "tethera.web.wsgi:application"
    assert made["preload_app"] is False, "each process opens its own line to the database"


@pytest.mark.parametrize("name", ["tethera-pages.service", "tethera-work@1.service"])
def test_systemd_takes_the_units(name: str, tmp_path: Path) -> None:
    if shutil.which("systemd-analyze") is None:
        pytest.skip("NO SYSTEMD HERE: its units were not checked")
    unit = (ROOT / "docs" / "deploy" / name.replace("@1", "@")).read_text("utf-8")
    here = Path(sys.executable).parent
    (tmp_path / name).write_text(unit.replace("/opt/tethera/bin", str(here)), "utf-8")
    ran = subprocess.run(["systemd-analyze", "verify", tmp_path / name], capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stderr) == (0, "")
