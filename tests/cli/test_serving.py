"""The pages started at the terminal, and the terminal on the store that the pages use."""

import http.client
import json
import os
import re
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest

Run = subprocess.CompletedProcess[str]


def tethera(folder: Path, *words: str) -> Run:
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("TETHERA_", "DJANGO_"))}
    command = [sys.executable, "-m", "tethera.cli.main", *words, "--store", str(folder)]
    return subprocess.run(command, capture_output=True, text=True, env=clean, timeout=60, check=False)


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str]]:
    """A store begun in files at the terminal, then served."""
    folder = tmp_path_factory.mktemp("served") / "store"
    sheet = folder.parent / "ropes.csv"
    sheet.write_text("No,Length,Dia,Type\n1,30 m,9,A\n2,45 m,10,A\n", encoding="utf-8")
    brought = tethera(folder, "import", str(sheet), "--code", "UG", "--owner", "Ulvergarth Caving Club")
    assert brought.returncode == 0, brought.stderr
    command = [sys.executable, "-m", "tethera.cli.main", "serve", "--listen", "127.0.0.1:0", "--store", str(folder)]
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("TETHERA_", "DJANGO_"))}
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=clean)
    assert process.stdout is not None
    said = re.search(r"http://\S+", process.stdout.readline())
    assert said is not None
    yield folder, said[0]
    process.terminate()
    _, told = process.communicate(timeout=30)
    assert process.returncode == 0, told
    assert "Traceback" not in told


def asked(port: int, method: str, path: str, headers: dict[str, str], body: str = "") -> tuple[int, str]:
    """Status and cookies of one request, its headers as given."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    connection.putrequest(method, path, skip_host=True)
    length = {"Content-Length": str(len(body)), "Content-Type": "application/x-www-form-urlencoded"} if body else {}
    for name, value in (headers | length).items():
        connection.putheader(name, value)
    connection.endheaders(body.encode() or None)
    answer = connection.getresponse()
    cookies = "\n".join(answer.headers.get_all("Set-Cookie") or [])
    connection.close()
    return answer.status, cookies


def test_serving_takes_the_files_into_a_database_and_keeps_them_beside_it(served: tuple[Path, str]) -> None:
    folder, _ = served
    assert {"tethera.sqlite3", "events.jsonl.brought-in", "people.json.brought-in"} <= {
        p.name for p in folder.iterdir()
    }
    assert not (folder / "events.jsonl").exists()


def test_the_first_visit_asks_for_the_keepers_account(served: tuple[Path, str]) -> None:
    with urllib.request.urlopen(f"{served[1]}sign-in", timeout=20) as answer:
        page = answer.read().decode()
    assert answer.url.endswith("/first")
    assert "Nobody has an account here yet" in page
    assert "Ulvergarth Caving Club" in page


def test_the_terminal_and_the_pages_have_the_same_store(served: tuple[Path, str]) -> None:
    folder, _ = served
    assert [each["rope"] for each in json.loads(tethera(folder, "ropes", "--json").stdout)] == ["UG1", "UG2"]
    done = tethera(folder, "record", "washed", "UG1", "how=hand", "--by", "Ines Ravel")
    assert done.returncode == 0, done.stderr
    told = tethera(folder / "ug", "rope", "1", "--json")
    assert [each["what"] for each in json.loads(told.stdout)["life"]][-1] == "washed"


def test_only_a_competent_person_examines_in_a_store_that_has_accounts(served: tuple[Path, str]) -> None:
    folder, _ = served
    refused = tethera(folder, "record", "inspected", "UG1", "outcome=fit", "--by", "Ines Ravel")
    assert refused.returncode == 1
    assert "Only a competent person may record this" in refused.stderr
    life = json.loads(tethera(folder, "rope", "1", "--json").stdout)["life"]
    assert "inspected" not in [each["what"] for each in life]


def test_a_store_of_another_name_is_not_there(served: tuple[Path, str]) -> None:
    told = tethera(served[0] / "xy", "ropes")
    assert told.returncode == 2
    assert "has no store “xy”. It has: ug." in told.stderr


@pytest.mark.parametrize("address", ["nowhere", "127.0.0.1:99999", "127.0.0.1:x"])
def test_an_address_that_is_none_is_said(tmp_path: Path, address: str) -> None:
    told = tethera(tmp_path / "store", "serve", "--listen", address)
    assert told.returncode == 2
    assert "is no address and port" in told.stderr


def test_a_port_that_is_taken_is_said(served: tuple[Path, str], tmp_path: Path) -> None:
    port = served[1].rstrip("/").rsplit(":", 1)[1]
    told = tethera(tmp_path / "store", "serve", "--listen", f"127.0.0.1:{port}")
    assert told.returncode == 2
    assert "Choose another port" in told.stderr


def test_behind_a_server_that_speaks_https_forms_are_taken_and_links_are_https(tmp_path: Path) -> None:
    told = {"TETHERA_HTTPS": "1", "TETHERA_HOSTS": "ropes.ulvergarth.invalid"}
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("TETHERA_", "DJANGO_"))} | told
    command = [sys.executable, "-m", "tethera.cli.main", "serve", "--listen", "127.0.0.1:0", "--store", str(tmp_path)]
    # Which port was free, only the process knows: with https it says the name under which the world asks.
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command[5] = f"127.0.0.1:{port}"
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=clean)
    try:
        assert process.stdout is not None
        said = re.search(r"https://ropes\.ulvergarth\.invalid(/first/\S+)", process.stdout.readline())
        assert said is not None
        # As the other server passes it on; what it says of https is not needed, and not believed.
        passed = {"Host": "ropes.ulvergarth.invalid", "X-Forwarded-Proto": "http"}
        form = asked(port, "GET", said[1], passed)
        cookie = re.search(r"__Host-csrftoken=([^;]+); .*Secure", form[1])
        assert cookie is not None
        typed = {"name": "Maud Ellerbeck", "email": "maud@ulvergarth.invalid", "password": "three odd words",
                 "owner": "Ulvergarth Caving Club", "code": "UG", "csrfmiddlewaretoken": cookie[1]}  # fmt: skip
        sent = passed | {"Origin": "https://ropes.ulvergarth.invalid", "Cookie": f"__Host-csrftoken={cookie[1]}"}
        assert asked(port, "POST", said[1], sent, urlencode(typed))[0] == 302
        assert asked(port, "POST", "/sign-in", passed | {"Content-Length": "300000000"})[0] == 413
    finally:
        process.terminate()
        process.communicate(timeout=30)
