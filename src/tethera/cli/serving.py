"""The store in the browser: pages and worker in one process, or a worker alone beside pages served elsewhere."""

import argparse
import json

from tethera.cli import places, terminal
from tethera.cli.demo import MADE_BY_DEMO
from tethera.cli.errors import WrongInput
from tethera.cli.main import DONE
from tethera.web import installation, serving


def run(words: argparse.Namespace) -> int:
    """Serve the store's folder until stopped with Ctrl-C."""
    folder = places.store_folder(words.store)
    host, port = _address(words.listen)
    demo = (folder.parent / MADE_BY_DEMO).is_file()
    serving.prepare_environment(host, port, demo=demo)
    installation.open_folder(folder, wait=lambda: serving.wait_for_database(terminal.warn))
    brought = serving.bring_in_file_store(folder, places.LOG_NAME, places.PEOPLE_NAME)
    if brought:
        terminal.warn(f"The store in {folder} is now kept in a database; its files are kept as *.brought-in.")
    if demo:
        from tethera.web import demo_people

        demo_people.make()

    def said(address: str) -> None:
        if words.json:
            print(json.dumps({"address": address, "store": str(folder)}), flush=True)
        else:
            print(f"Open {address}   (stop with Ctrl-C)", flush=True)
        if words.open:
            import webbrowser

            webbrowser.open(address)

    try:
        serving.serve(host, port, said)
    except KeyboardInterrupt:
        terminal.warn("Stopped.")
    except OSError as error:
        told = f"{words.listen} cannot be used: {error.strerror}. Choose another port with --listen."
        raise WrongInput(told) from None
    return DONE


def work(words: argparse.Namespace) -> int:
    """Do the long work of the store's folder until stopped."""
    folder = places.store_folder(words.store)
    if not installation.is_installation(folder):
        raise WrongInput(
            f"There is no store in {folder} that is served. Begin one with  tethera serve --store {folder}"
        )
    installation.open_folder(folder, wait=lambda: serving.wait_for_database(terminal.warn))

    def said(worker: str) -> None:
        if words.json:
            print(json.dumps({"worker": worker, "store": str(folder)}), flush=True)
        else:
            print(f"Worker {worker} waits for long work   (stop with Ctrl-C)", flush=True)

    serving.work(said)
    terminal.warn("Stopped.")
    return DONE


def _address(text: str) -> tuple[str, int]:
    host, _, port = text.rpartition(":")
    if not port.isdigit() or int(port) > 65535:
        raise WrongInput(f"--listen: “{text}” is no address and port, as 127.0.0.1:8017.")
    return host.strip("[]") or "127.0.0.1", int(port)
