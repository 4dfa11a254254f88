"""faintcall import: add the exported attempts of another computer to the record."""

import argparse
import sys
from pathlib import Path

from tqdm import tqdm

from drill.cli.extra_offer import offer_extra
from drill.cli.wrapping import print_text
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.records.reading import read_attempts
from drill.records.rows import merge_attempts
from drill.records.store import Store
from drill.records.writing import PARQUET, format_of

_EPILOG = """examples:
  faintcall import attempts.jsonl
  faintcall import attempts.csv        attempts that you already have stay as they are
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall import`."""
    command.description = (
        "Add the attempts of a file from faintcall export to your record. Attempts that you "
        "already have stay as they are, so importing a file twice changes nothing. If anything in "
        "the file is wrong, nothing is added."
    )
    command.epilog = _EPILOG
    command.add_argument(
        "file", type=Path, metavar="FILE", help="a file that faintcall export wrote"
    )
    command.add_argument(
        "--format", metavar="NAME", help="csv, jsonl or parquet (default: from the file's ending)"
    )


def run(options: argparse.Namespace) -> int:
    """Check the file and merge it, with a progress bar in a terminal.

    Raises: UserError, ResourceUnavailable.
    """
    if not options.file.is_file():
        raise UserError(f"there is no file {options.file}; give one that faintcall export wrote")
    format_name = format_of(options.file, options.format)
    if format_name == PARQUET:
        offer_extra(PARQUET)
    rows = read_attempts(options.file, format_name)
    with (
        Store(record_file()) as store,
        tqdm(rows, "checked", unit="row", disable=None, file=sys.stderr) as bar,
    ):
        read, added = merge_attempts(store, bar)
    print_text(f"Added {plural(added, 'attempt')}; already in your record: {read - added}.")
    return 0
