"""faintcall import: attempts of another machine join the record."""

import argparse
import sys
from pathlib import Path

EXAMPLES = """examples:
  faintcall import attempts.jsonl
  faintcall import attempts.csv        attempts that are here already stay as they are
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall import`."""
    command.description = (
        "Add the attempts of a file of faintcall export to the record. What is here "
        "already stays as it is, so importing twice changes nothing. All of a file is added, or "
        "nothing."
    )
    command.epilog = EXAMPLES
    command.add_argument("file", type=Path, metavar="FILE", help="what faintcall export wrote")
    command.add_argument(
        "--format", metavar="KIND", help="csv, jsonl or parquet (default: by the file's ending)"
    )


def run(options: argparse.Namespace) -> int:
    """Check the whole file, then merge it, with progress bars where there is a terminal."""
    from tqdm import tqdm

    from drill.core.errors import UserError
    from drill.core.paths import record_file
    from drill.records.reading import read_attempts
    from drill.records.rows import merge_attempts
    from drill.records.store import Store
    from drill.records.writing import format_of

    if not options.file.is_file():
        raise UserError(f"there is no file {options.file}")

    kind = format_of(options.file, options.format)
    with tqdm(
        read_attempts(options.file, kind), "checked", unit="row", disable=None, file=sys.stderr
    ) as bar:
        total = sum(1 for _ in bar)
    rows = read_attempts(options.file, kind, checked=True)
    with (
        Store(record_file()) as store,
        tqdm(rows, "merged", total, unit="row", disable=None, file=sys.stderr) as bar,
    ):
        added = merge_attempts(store, bar)
    print(f"{added} attempts were added, {total - added} were here already.")
    return 0
