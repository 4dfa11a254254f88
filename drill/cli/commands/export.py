"""faintcall export: the record as a file for other programs."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

EXAMPLES = """examples:
  faintcall export attempts.csv
  faintcall export attempts.parquet --since 2026-01-01 --mode practice
  faintcall export attempts.jsonl      all of it, for faintcall import on another machine
  faintcall export --schema            what the columns are
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall export`."""
    command.description = (
        "Write every attempt of the record, one a row, as CSV, JSON lines or Parquet. "
        "Whole sittings are written; sound is not kept and so is not in it."
    )
    command.epilog = EXAMPLES
    command.add_argument("file", type=Path, nargs="?", metavar="FILE", help="where to write")
    command.add_argument(
        "--schema", action="store_true", help="tell what every column holds, and write nothing"
    )
    command.add_argument(
        "--format", metavar="KIND", help="csv, jsonl or parquet (default: by the file's ending)"
    )
    command.add_argument(
        "--since", metavar="DATE", help="only sittings begun on this day or later, as 2026-01-31"
    )
    command.add_argument("--mode", metavar="NAME", help="only sittings of this kind, as practice")
    command.add_argument("--force", action="store_true", help="replace a file that is there")


def run(options: argparse.Namespace) -> int:
    """Write the file, with a progress bar where there is a terminal."""
    from tqdm import tqdm

    from drill.core.errors import UserError
    from drill.core.paths import record_file
    from drill.records import rows, schema, writing
    from drill.records.store import Store

    if options.schema:
        print(schema.schema_text())
        return 0
    if options.file is None:
        raise UserError("give the file to write, such as attempts.csv, or --schema")
    kind = writing.format_of(options.file, options.format)
    since = _day(options.since)
    with Store(record_file()) as store:
        total = rows.count_attempts(store, since=since, mode=options.mode)
        if not total:
            raise UserError("no recorded attempt is of that kind and time; see faintcall history")
        every = rows.attempt_rows(store, since=since, mode=options.mode)
        # disable=None: no bar where the output is no terminal
        with tqdm(every, total=total, unit="row", disable=None, file=sys.stderr) as bar:
            written = writing.write_attempts(options.file, kind, bar, force=options.force)
    print(f"{written} attempts are in {options.file}; faintcall export --schema tells the columns.")
    return 0


def _day(text: str | None) -> "datetime | None":
    """Return the start of a day on this machine's clock. Raises: UserError."""
    from datetime import date, datetime, time

    from drill.core.errors import UserError

    if text is None:
        return None
    try:
        return datetime.combine(date.fromisoformat(text), time()).astimezone()
    except (ValueError, OverflowError, OSError):
        raise UserError(f"{text!r} is no day; give it as 2026-01-31") from None
