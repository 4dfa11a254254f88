"""faintcall compare: two or more things in one run, blind, with the difference and its interval."""

import argparse
from typing import TYPE_CHECKING

from drill.cli.options import COMPARED, add_plan, choices_from
from drill.cli.session_loop import add_sitting, hold

if TYPE_CHECKING:
    from drill.records.store import Store
    from drill.session.courses import Course

TEXT = """What can be compared: conditions, fading, filter, processing, voices (names joined by +),
alternates (share of letters not said in the ITU's word, 0 to 1), exchange and mix. Items of all
come mixed in an order that you are not told; each is placed by its own answers, 30 items each. At
the end you get x50 of each and the differences with their intervals.

examples:
  faintcall compare fading steady mid-disturbed
  faintcall compare alternates 0 0.5
  faintcall compare voices birch+maple tin+rivet
  faintcall compare filter 2600 1800 --conditions usual-day --items 40
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall compare`."""
    command.description = "Compare two or more things in one blind run."
    command.epilog = TEXT
    command.add_argument("what", nargs="?", metavar="WHAT", help="what is changed")
    command.add_argument("values", nargs="*", metavar="VALUE", help="two or more values of it")
    add_plan(command, items=COMPARED)
    add_sitting(command)
    command.set_defaults(run=run, command="compare")


def run(options: argparse.Namespace) -> int:
    """Hold the run and print what it tells."""
    from drill.cli.tables import print_passages
    from drill.core.paths import record_file
    from drill.records.store import Store
    from drill.session.results import outcome

    with Store(record_file()) as store:
        practice = hold(options, store, lambda: _course(options, store), modes=("comparing",))
        if practice.finished:
            print_passages(outcome(practice, store))
    return 0


def _course(options: argparse.Namespace, store: "Store") -> "Course":
    """Return the run that the options ask for. Raises: UserError."""
    from drill.session.options import course_for

    compared = (options.what, options.values)
    return course_for("comparing", choices_from(options), store, compared=compared)
