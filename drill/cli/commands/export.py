"""faintcall export: write the record as a file for other programs."""

import argparse
import sys
from datetime import date, datetime, time
from pathlib import Path

from tqdm import tqdm

from drill.cli.extra_offer import offer_extra
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.hunt.exports import hunt_rows, hunt_schema_text, write_hunts
from drill.records.rows import attempt_rows, count_attempts
from drill.records.schema import schema_text
from drill.records.store import Store
from drill.records.writing import PARQUET, format_of, write_attempts
from drill.session.kinds import find_kind

_EPILOG = """examples:
  faintcall export attempts.csv
  faintcall export attempts.parquet --since 2026-01-01 --mode practice
  faintcall export attempts.jsonl      everything, for faintcall import on another computer
  faintcall export --schema            describe the columns
  faintcall export hunts.csv --hunts   one row per hunt, to compare with others
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall export`."""
    command.description = (
        "Write the attempts of your record, one per row, as CSV, JSON lines or Parquet. Sessions "
        "are always exported whole. Audio is not stored, so it is not exported."
    )
    command.epilog = _EPILOG
    command.add_argument("file", type=Path, nargs="?", metavar="FILE", help="the file to write")
    command.add_argument(
        "--schema", action="store_true", help="describe the columns, and write nothing"
    )
    command.add_argument(
        "--format", metavar="NAME", help="csv, jsonl or parquet (default: from the file's ending)"
    )
    command.add_argument(
        "--since", metavar="DATE", help="only sessions begun on this day or later: 2026-01-31"
    )
    command.add_argument(
        "--mode", metavar="NAME", help="only sessions of this kind, such as practice"
    )
    command.add_argument("--force", action="store_true", help="replace an existing file")
    command.add_argument(
        "--hunts", action="store_true", help="write finished hunts instead, one per row"
    )
    command.add_argument(
        "--own-call", action="store_true", help="with --hunts: include your own call"
    )


def run(options: argparse.Namespace) -> int:
    """Write the file, with a progress bar in a terminal. Raises: UserError, ResourceUnavailable."""
    if options.schema:
        print(hunt_schema_text() if options.hunts else schema_text())
        return 0
    if options.file is None:
        raise UserError("give the file to write, such as attempts.csv, or --schema")
    if options.hunts:
        _export_hunts(options)
        return 0
    format_name = format_of(options.file, options.format)
    if format_name == PARQUET:
        offer_extra(PARQUET)
    since = None if options.since is None else _start_of_day(options.since)
    mode = None if options.mode is None else _stored_name(options.mode)
    with Store(record_file()) as store:
        total = count_attempts(store, since=since, mode=mode)
        if not total:
            if since is None and mode is None:
                raise UserError("nothing is recorded yet; start with: faintcall copy")
            raise UserError(
                "the record has no attempts that match --since and --mode; see faintcall history"
            )
        rows = attempt_rows(store, since=since, mode=mode)
        # disable=None shows the bar in a terminal only.
        with tqdm(rows, total=total, unit="row", disable=None, file=sys.stderr) as bar:
            try:
                written = write_attempts(options.file, format_name, bar, force=options.force)
            except UserError as error:
                raise (_with_force(error) if error.kind == "exists" else error) from None
    print(
        f"Wrote {plural(written, 'attempt')} to {options.file}; "
        "faintcall export --schema describes the columns."
    )
    return 0


def _export_hunts(options: argparse.Namespace) -> None:
    """Write the finished hunts. Raises: UserError."""
    for name in ("format", "since", "mode"):
        if getattr(options, name) is not None:
            raise UserError(f"--{name} does not go with --hunts; leave it out", field=name)
    with Store(record_file()) as store:
        rows = list(hunt_rows(store, own_call=options.own_call))
    if not rows:
        raise UserError("the record has no finished hunt; start with: faintcall hunt")
    try:
        written = write_hunts(options.file, rows, force=options.force)
    except UserError as error:
        raise (_with_force(error) if error.kind == "exists" else error) from None
    call = "with" if options.own_call else "without"
    print(f"Wrote {plural(written, 'hunt')} to {options.file}, {call} your own call.")


def _with_force(error: UserError) -> UserError:
    return UserError(f"{error}, or replace it with --force")


def _stored_name(kind_name: str) -> str:
    """Return the record's name for a kind of session; an unknown name is returned unchanged."""
    kind = find_kind(kind_name)
    return kind_name if kind is None else kind.stored_name


def _start_of_day(text: str) -> datetime:
    """Return the start of a day in this computer's time zone. Raises: UserError."""
    try:
        return datetime.combine(date.fromisoformat(text), time()).astimezone()
    except (ValueError, OverflowError, OSError):
        raise UserError(f"{text!r} is not a date; write it as 2026-01-31", field="since") from None
