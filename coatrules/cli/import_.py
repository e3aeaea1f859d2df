"""``coatrules import SHEET MAPPING``: old records from a spreadsheet's export into histories."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_folders, engine_of
from coatrules.problems import visible
from coatrules.recording.folders import write_histories
from coatrules.recording.sheets import read_sheet


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("sheet", metavar=say("metavar.SHEET"), type=Path, help=say("help.import.SHEET"))
    parser.add_argument("mapping", metavar=say("metavar.MAPPING"), type=Path, help=say("help.import.MAPPING"))
    parser.add_argument("--out", type=Path, metavar=say("metavar.DIR"), required=True, help=say("help.import.--out"))
    parser.add_argument(
        "--leave-out",
        action="store_true",
        help=say("help.import.--leave-out"),
    )
    add_folders(parser)
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Reads the whole sheet, lists every row that cannot be read, then writes all histories or none."""
    imported = engine_of(args).import_sheet(read_sheet(args.sheet), args.mapping, name=str(args.sheet))
    for problem in imported.problems:
        print(problem, file=sys.stderr)
    visits = sum(len(history["visits"]) for history in imported.histories.values())
    dogs = message("import.dogs", dogs=len(imported.histories))
    counted = message("import.visits", visits=visits)
    print(say("import.read", read=imported.read, rows=imported.rows, dogs=dogs, visits=counted), file=sys.stderr)
    if imported.problems and not args.leave_out:
        print(say("import.nothing-written"), file=sys.stderr)
        return 1
    for file in write_histories(imported.histories, args.out):
        print(visible(str(file)))
    return 1 if imported.problems else 0
