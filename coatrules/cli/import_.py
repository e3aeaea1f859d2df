"""``coatrules import SHEET MAPPING``: old records from a spreadsheet's export into histories."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules.cli.common import add_folders
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.recording.importing import import_rows, write_histories
from coatrules.recording.sheets import load_mapping


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("sheet", metavar="SHEET", type=Path, help="the export: a CSV file")
    parser.add_argument("mapping", metavar="MAPPING", type=Path, help="what its columns and words mean: a YAML file")
    parser.add_argument(
        "--out", type=Path, metavar="DIR", required=True, help="the folder for the histories, a file for each dog"
    )
    parser.add_argument(
        "--leave-out",
        action="store_true",
        help="write what can be read even where some rows cannot be; they are still listed",
    )
    add_folders(parser)
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Reads the whole sheet, lists every row that cannot be read, then writes all histories or none."""
    mapping = load_mapping(args.mapping)
    compiled = (
        compile_profile(load_profile(mapping.profile, folders=args.profiles)) if mapping.profile is not None else None
    )
    try:
        content = args.sheet.read_bytes()
    except OSError as error:
        message = f"cannot read this file: {(error.strerror or type(error).__name__).lower()}"
        raise InputError([Problem(code="cannot-read", message=message, file=str(args.sheet))]) from error
    imported = import_rows(content, str(args.sheet), mapping, compiled)
    for problem in imported.problems:
        print(problem, file=sys.stderr)
    visits = sum(len(history["visits"]) for history in imported.histories.values())
    print(
        f"{imported.read} of {imported.rows} rows read: {len(imported.histories)} dogs, {visits} visits.",
        file=sys.stderr,
    )
    if imported.problems and not args.leave_out:
        print("Nothing was written. Mend the rows above, or say --leave-out to go on without them.", file=sys.stderr)
        return 1
    for file in write_histories(imported.histories, args.out):
        print(file)
    return 1 if imported.problems else 0
