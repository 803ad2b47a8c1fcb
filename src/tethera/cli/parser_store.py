"""The commands of the store and their words. Only argparse is imported here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tethera.cli.parser_parts import millimetres, new_command, store_options, whole_number

if TYPE_CHECKING:
    from tethera.cli.parser_parts import Commands


#: As labels.PAPERS, which is slow to import for a help text.
PAPERS = ("a4", "letter", "tape-12", "tape-18", "tape-24")


def store_commands(commands: Commands) -> None:
    """What comes into a store, stands in it, and is recorded."""
    command = new_command(
        commands,
        "import",
        "store_in:import_spreadsheet",
        "bring ropes in from a spreadsheet as it is, each doubtful cell shown first",
        "tethera import ropes.xlsx --code UG --owner 'Ulvergarth Caving Club' --dry-run",
    )
    command.add_argument("file", help="spreadsheet: .xlsx, .xls, .ods or .csv; or a store exported by tethera")
    command.add_argument("--dry-run", action="store_true", help="show what would be recorded, record nothing")
    command.add_argument("--sheet", help="name of the sheet, if the file has several (else the first with ropes)")
    command.add_argument("--code", help="letters before each rope's number, for a new store: UG gives UG1")
    command.add_argument("--owner", help="whose ropes these are, for a new store")
    store_options(command)
    command = new_command(
        commands,
        "ropes",
        "store_out:list_ropes",
        "list the ropes: length, kind, state, what is doubted",
        "tethera ropes ready 10mm",
    )
    command.add_argument("words", nargs="*", help="show only ropes with all these words (state, number, 10mm, maker)")
    store_options(command)
    command = new_command(
        commands, "rope", "store_out:one_rope", "tell one rope's whole life and what is doubted", "tethera rope UG41"
    )
    command.add_argument("rope", help="rope number, as UG41 or 41")
    store_options(command)
    command = new_command(
        commands,
        "record",
        "store_in:record",
        "record what was done to ropes; a fact is never refused, only doubted",
        "tethera record measured UG41 length=28.6m --on 2026-11-20",
    )
    command.add_argument("what", nargs="?", help="what was done, as washed, measured, retired; leave out to list them")
    command.add_argument("words", nargs="*", help="rope numbers, then details as name=value")
    command.add_argument("--on", help="when it happened: a day, a month or a year (else today)")
    store_options(command)


def mark_command(commands: Commands) -> None:
    """The marks on both ends."""
    command = new_command(
        commands,
        "mark",
        "marks:mark",
        "what both ends of a rope say: the words, strips to print, the tube over them",
        "tethera mark 41 42 --pdf marks.pdf",
    )
    command.add_argument("ropes", nargs="*", metavar="ROPE", help="rope numbers; leave out to list what needs a mark")
    command.add_argument("--pdf", metavar="FILE", help="write the strips for both ends, true to scale")
    command.add_argument("--paper", choices=PAPERS, default="a4", help="sheet, or tape by its width in mm (a4)")
    command.add_argument(
        "--diameter", type=millimetres, metavar="MM", help="measured over the tape (else as declared, with its tape)"
    )
    command.add_argument("--metres", type=whole_number, metavar="N", help="say less than was measured, in whole metres")
    command.add_argument("--done", action="store_true", help="record that both ends are marked")
    command.add_argument("--on", metavar="DAY", help="when they were marked: a day, a month or a year (else today)")
    store_options(command)


def exchange_commands(commands: Commands) -> None:
    """A store out into a file, and back."""
    command = new_command(
        commands,
        "export",
        "exchange:export",
        "write all that happened in a store into one file, to read elsewhere or to bring back",
        "tethera export --out ulvergarth.xlsx",
    )
    command.add_argument("--out", required=True, metavar="FILE", help="where to write, .jsonl, .xlsx or .csv")
    command.add_argument("--as", dest="form", choices=("jsonl", "xlsx", "csv"), help="form (else the name's ending)")
    store_options(command)
    command = new_command(
        commands,
        "backup",
        "backup:write",
        "write everything of the store's folder into one zip file: records, photographs, accounts",
        "tethera backup --out ulvergarth.zip",
    )
    command.add_argument("--out", metavar="FILE", help="where to write (tethera-backup-DAY-TIME.zip)")
    store_options(command)
    command = new_command(
        commands,
        "restore",
        "backup:restore",
        "make a new folder from a backup, after checking all of it",
        "tethera restore ulvergarth.zip --store ulvergarth",
    )
    command.add_argument("file", help="backup written by tethera backup")
    store_options(command)
    _verify_command(commands)


def _verify_command(commands: Commands) -> None:
    command = new_command(
        commands,
        "verify",
        "verify:verify",
        "prove that no event was altered, or name the first that was; print the head to keep elsewhere",
        "tethera verify --head '142: 3f9a 01c2 4b7e 9d10'",
    )
    command.add_argument("file", nargs="?", help="export, backup or events.jsonl to look at, instead of the store")
    command.add_argument(
        "--head", action="append", default=[], metavar="HEAD", help="a head that was printed or mailed; may be repeated"
    )
    command.add_argument(
        "--against",
        action="append",
        default=[],
        metavar="FILE",
        help="a backup, an export, or a text in which heads stand; may be repeated",
    )
    command.add_argument("--head-only", action="store_true", help="print one line with the head, to mail or to keep")
    store_options(command)
