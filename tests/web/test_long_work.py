"""Long work that waits over a restart: the worker knows how it is done before anybody asks for a page."""

import subprocess
import sys
from pathlib import Path

WEB = Path(__file__).parents[2] / "src" / "tethera" / "web"


def test_the_worker_knows_every_kind_of_work_before_the_first_page(tmp_path: Path) -> None:
    """In a process of its own: here the addresses of the pages have loaded everything already."""
    doing = {
        ".".join(("tethera", "web", *path.relative_to(WEB).with_suffix("").parts))
        for path in WEB.rglob("*.py")
        if "\n@does(" in path.read_text("utf-8")
    }
    assert len(doing) >= 3
    script = (
        "import pathlib, sys\n"
        "from tethera.web.installation import open_folder\n"
        "open_folder(pathlib.Path(sys.argv[1]))\n"
        "print(*sorted(sys.modules))"
    )
    ran = subprocess.run([sys.executable, "-c", script, tmp_path], capture_output=True, text=True, check=True, env={})
    assert doing <= set(ran.stdout.split())
    assert "tethera.web.urls" not in ran.stdout.split()
