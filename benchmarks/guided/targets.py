"""The readers, each as a target: what is done with the bytes, what it begins from, how its inputs are changed."""

import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

import django

from faults.parsers import Reader, readers


@dataclass(frozen=True)
class Target:
    """What is done with an input, what it may complain with, and good inputs."""

    act: Callable[[bytes], object]
    complaints: tuple[type[Exception], ...]
    seeds: tuple[bytes, ...]
    #: What in shapes.py changes its inputs inside; None: changed anyhow.
    shape: str | None = None
    most_bytes: int = 4096
    #: Modules of Tethera whose words are put into inputs.
    rooms: tuple[str, ...] = ()


def _of(reader: str, *rooms: str, shape: str | None = None, most_bytes: int = 4096) -> Target:
    """One of the readers that the tests damage files for; `shape` names what changes its inputs inside."""
    told: Reader = readers()[reader]
    return Target(told.act, told.complaints, told.seeds, shape, most_bytes, rooms)


def _small() -> Target:
    from guided.pages import SMALL_SEEDS, read_small

    return Target(read_small, (ValueError,), SMALL_SEEDS, None, 400)


def _spreadsheet() -> Target:
    from guided.sheets import read_spreadsheet, spreadsheet_seeds
    from tethera.basics import UnreadableWorkbook

    return Target(read_spreadsheet, (UnreadableWorkbook,), spreadsheet_seeds(), "archive", 20_000)


def _ropes() -> Target:
    from guided.cells import read_ropes, ropes_seeds

    rooms = ("store/cells.py", "store/columns.py", "store/conditions.py", "store/length_columns.py", "basics/dates.py")
    return Target(read_ropes, (), ropes_seeds(), "json_value", 12_000, rooms)


def _route_cells() -> Target:
    from guided.cells import read_route_cells, route_seeds
    from tethera.rigging import UnreadableRoute

    return Target(read_route_cells, (UnreadableRoute,), route_seeds(), "json_value", 12_000)


def _log() -> Target:
    from guided.writing import log_file, old_log, read_log
    from tethera.store import DamagedLog, Refused, UnknownRope

    return Target(read_log, (DamagedLog, UnknownRope, Refused), (log_file(), old_log()), "event_lines", 40_000)


def _export(form: str, shape: str | None) -> Target:
    from faults.good_files import exports
    from guided.writing import bring_in
    from tethera.store.exchange import AnotherStore, UnreadableExport

    told, most = (UnreadableExport, AnotherStore), 8192 if form != "xlsx" else 40_000
    return Target(bring_in(form), told, (exports()[form],), shape, most, ("store/codec.py",))


def _restore() -> Target:
    from guided.writing import Told, backup_of_files, restore

    return Target(restore, (Told,), (backup_of_files(),), "backup", 20_000)


def _put_back() -> Target:
    from guided import pages

    pages.database()
    seeds = (pages.backup_of_database(),)
    return Target(pages.put_back, (ValueError,), seeds, "backup", 60_000)


def _photograph() -> Target:
    from faults.good_files import pictures
    from guided.shots import more_pictures
    from tethera.web.reading.codes import codes_in
    from tethera.web.ropes.one_pictures import NoPicture

    django.setup()
    kept = readers()["photograph"]

    def act(data: bytes) -> None:
        kept.act(data)
        next(codes_in(io.BytesIO(data), "a.jpg"), None)

    return Target(act, (NoPicture,), (*pictures(), *more_pictures()), "picture", 8192)


def _listed() -> Target:
    from guided import pages

    pages.database()
    return Target(pages.Listed(), (), pages.LISTED_SEEDS, "query", 2000, ("web/ropes/list_wanted.py",))


def _pages() -> Target:
    from guided import pages

    pages.database()
    club = pages.furnished()
    return Target(pages.Asked(club), (), pages.page_seeds(club), "query", 3000)


def targets() -> Mapping[str, Callable[[], Target]]:
    """How each target is made, by its name; made only in the process that runs it."""
    route_rooms = ("rigging/route_rows.py", "rigging/route_sheets.py", "rigging/words.py")
    table_rooms = ("rigging/route_table.py", "rigging/table_faults.py", "rigging/words.py")
    return {
        "length": partial(_of, "length", "basics/lengths.py", most_bytes=200),
        "date": partial(_of, "date", "basics/dates.py", most_bytes=200),
        "head and bands": _small,
        "knots": partial(_of, "knots", "rigging/knots.py", most_bytes=1000),
        "route file": partial(_of, "route file", "rigging/route_file.py", "rigging/words.py", shape="toml"),
        "route table": partial(_of, "route table", *table_rooms),
        "route rows": partial(_of, "route rows", *route_rooms),
        "route cells": _route_cells,
        "spreadsheet": _spreadsheet,
        "rope cells": _ropes,
        "export as lines": partial(_export, "jsonl", "event_lines"),
        "export as table": partial(_export, "csv", None),
        "export as workbook": partial(_export, "xlsx", "archive"),
        "log file": _log,
        "backup of files": _restore,
        "backup of a database": _put_back,
        "photograph": _photograph,
        "list of ropes": _listed,
        "pages asked": _pages,
    }
