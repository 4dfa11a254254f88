"""faintcall report: one page of what the record tells."""

import argparse
from pathlib import Path

EXAMPLES = """examples:
  faintcall report
  faintcall report --to my-report

The folder gets report.html, one page that needs nothing else, and beside it each chart as a PNG
file, each table as a CSV file, and everything as report.json.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall report`."""
    command.description = "Write one page of what the record tells."
    command.epilog = EXAMPLES
    command.add_argument(
        "--to",
        type=Path,
        default=Path("faintcall-report"),
        metavar="DIR",
        help="the folder (default: faintcall-report)",
    )


def run(options: argparse.Namespace) -> int:
    """Write it and say where it is. Raises: UserError."""
    from datetime import UTC, datetime

    from drill.core.errors import UserError
    from drill.core.paths import record_file
    from drill.records.store import Store
    from drill.report.figures import report
    from drill.report.sections import write

    with Store(record_file()) as store:
        found = report(store, now=datetime.now(UTC))
    if not found.answered and found.spoken is None:
        raise UserError("the record is empty; answer something first: faintcall copy")
    page = write(found, options.to)
    print(f"{found.answered} answers, {found.hours:.1f} hours: the report is {page}")
    return 0
