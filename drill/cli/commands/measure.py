"""faintcall measure: the SNR at which calls are copied, with an honest interval."""

import argparse
from typing import TYPE_CHECKING

from drill.cli.options import MEASURED, add_plan, choices_from
from drill.cli.session_loop import add_sitting, hold

if TYPE_CHECKING:
    from drill.records.store import Store
    from drill.session.courses import Course

TEXT = """A measuring block: 60 whole calls, about eight minutes. The SNR is chosen by your answers;
nothing is told and nothing is heard twice, so that the figure is of copying and of nothing else. At
the end you get x50 and x80, the SNR in 3 kHz at which half and four fifths of whole calls are
copied, with 95 % intervals, the slope, and what it means in watts. A later block of the same kind
starts from the slope that is known and is pooled with the earlier ones.

while you copy:
  type what you copied and press Enter; ? in place of a character; . and Enter for nothing at all
  ? and Enter             the estimate so far (better not: it may bias you)
Ctrl-C stops; `faintcall measure --continue` goes on.

examples:
  faintcall measure
  faintcall measure --conditions usual-day --until 2
  faintcall measure --quick
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall measure`."""
    command.description = "Measure at which SNR you copy whole calls, with an honest interval."
    command.epilog = TEXT
    command.add_argument(
        "--quick",
        action="store_true",
        help="30 calls scored by characters; gives a character threshold, which is not x50",
    )
    command.add_argument(
        "--until",
        type=float,
        metavar="DB",
        help="end once the 95 %% interval of x50 is as narrow, after 40 items at least",
    )
    add_plan(command, items=MEASURED)
    add_sitting(command)
    command.set_defaults(run=run, command="measure")


def run(options: argparse.Namespace) -> int:
    """Hold the block and print what it tells."""
    from drill.cli.tables import print_passages
    from drill.core.paths import record_file
    from drill.records.store import Store
    from drill.session.results import outcome

    with Store(record_file()) as store:
        practice = hold(
            options, store, lambda: _course(options, store), modes=("measuring", "quick")
        )
        if practice.finished:
            print_passages(outcome(practice, store))
    return 0


def _course(options: argparse.Namespace, store: "Store") -> "Course":
    """Return the block that the options ask for. Raises: UserError."""
    from drill.session.options import course_for

    kind = "quick" if options.quick else "measuring"
    return course_for(kind, choices_from(options), store, until_db=options.until)
