"""Completion, tried in a real shell."""

import shutil
import subprocess
import sys

import pytest

from tethera.cli.main import main


@pytest.mark.skipif(shutil.which("bash") is None, reason="bash is not on this machine")
def test_pressing_tab_in_bash_offers_the_commands(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", "bash"]) == 0
    script = capsys.readouterr().out
    press_tab = 'COMP_WORDS=(tethera p); COMP_CWORD=1; _shtab_tethera; printf "%s\\n" "${COMPREPLY[@]}"'
    ran = subprocess.run(["bash", "-c", f"{script}\n{press_tab}"], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == ["plan"]


@pytest.mark.parametrize("shell", ["zsh", "tcsh"])
def test_other_shells_get_a_script_that_knows_every_command(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", shell]) == 0
    script = capsys.readouterr().out
    assert all(command in script for command in ("import", "ropes", "record", "needs", "plan", "sheet", "bags"))


def test_the_command_can_be_run_as_a_module() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "tethera.cli.main", "--version"], capture_output=True, text=True, check=True
    )
    assert ran.stdout.startswith("tethera ")
