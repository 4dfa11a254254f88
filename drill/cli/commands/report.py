"""faintcall report: write the report of the whole record into a folder."""

import argparse
from datetime import UTC, datetime
from pathlib import Path

from drill.cli.machine_progress import copy_by_machine
from drill.cli.wrapping import print_text
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.records.store import Store
from drill.report.figures import build_report
from drill.report.files import write_report

EXAMPLES = """examples:
  faintcall report
  faintcall report --to my-report
  faintcall report --machine

The folder contains report.html, a self-contained page, with each chart as a PNG file, each table as
a CSV file, and all figures in report.json. With --machine, a speech recogniser first copies the
calls of your measurements and comparisons that it has not copied yet; the report shows its results
beside yours. Ctrl-C stops it; the next run continues.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall report`."""
    command.description = (
        "Write a report of the whole record: thresholds, trends, confusions and costs."
    )
    command.epilog = EXAMPLES
    command.add_argument(
        "--to",
        type=Path,
        default=Path("faintcall-report"),
        metavar="DIR",
        help="folder for the report (default: faintcall-report)",
    )
    command.add_argument(
        "--machine",
        action="store_true",
        help="also let a recogniser copy the calls of your measurements and comparisons",
    )


def run(options: argparse.Namespace) -> int:
    """Write the report, print its path and return 0.

    Raises: UserError if the record is empty or the folder cannot be written; NoRecogniser.
    """
    with Store(record_file()) as store:
        if options.machine:
            copy_by_machine(store)
        report = build_report(store, now=datetime.now(UTC))
    if report.is_empty:
        raise UserError("the record is empty; answer some items first with: faintcall copy")
    page = write_report(report, options.to)
    print_text(
        f"{plural(report.answered, 'answer')}, {report.hours:.1f} hours: the report is {page}"
    )
    if report.machine_is_behind and not options.machine:
        print_text("To compare yourself with a recogniser: faintcall report --machine")
    return 0
