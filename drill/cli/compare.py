"""faintcall compare: two or more things in one run, blind, with the difference and its interval."""

import argparse
from typing import TYPE_CHECKING

from drill.cli.options import COMPARED, Commands, add_plan, plan_from
from drill.cli.sitting import add_sitting, hold

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drill.courses import Comparing
    from drill.items import Attempt
    from drill.practice import Practice
    from drill.records.store import Store

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


def add(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the command."""
    command = commands.add_parser(
        "compare",
        help="compare voices, fading, filters or words in one blind run",
        description="Compare two or more things in one blind run.",
        epilog=TEXT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.add_argument("what", nargs="?", metavar="WHAT", help="what is changed")
    command.add_argument("values", nargs="*", metavar="VALUE", help="two or more values of it")
    add_plan(command, items=COMPARED)
    add_sitting(command)
    command.set_defaults(run=run, command="compare")


def run(options: argparse.Namespace) -> int:
    """Hold the run and print what it tells."""
    from drill.courses import Comparing
    from drill.folders import record_file
    from drill.records.store import Store

    with Store(record_file()) as store:
        practice = hold(
            options,
            store,
            lambda: _course(options, store),
            modes=("comparing",),
            standing=standing,
        )
    if practice.finished and isinstance(practice.course, Comparing):
        print_comparison(practice.course, practice.attempts)
    return 0


def _course(options: argparse.Namespace, store: "Store") -> "Comparing":
    """Return the run that the options ask for. Raises: UserError."""
    from drill.errors import UserError
    from drill.measuring import CHANGES, comparing

    if options.snr is not None or options.watts is not None:
        raise UserError("comparing chooses the SNR itself; leave out --snr and --watts")
    if options.what is None:
        raise UserError(f"say what to compare: {', '.join(CHANGES)}; then two or more values")
    return comparing(plan_from(options), options.what, options.values, store)


def standing(practice: "Practice") -> str:
    """Return how many are left; who leads would bias the listener."""
    return f"{practice.course.count - len(practice.attempts)} to go."


def print_comparison(course: "Comparing", attempts: "Sequence[Attempt]") -> None:
    """Print x50 of each arm, and each against the first."""
    from drill.cli.measure import figure
    from drill.measuring import arm_estimates
    from drill.threshold.intervals import difference

    found = arm_estimates(course, attempts)
    width = max(len(arm.label) for arm in course.arms)
    print(f"\n  {'':{width}}  x50, SNR in 3 kHz")
    for arm, estimate in zip(course.arms, found, strict=True):
        if estimate is None:
            print(f"  {arm.label:{width}}  nothing heard")
            continue
        print(
            f"  {arm.label:{width}}  {figure(estimate.x50_db)}, {estimate.right} of "
            f"{estimate.n} copied"
        )
        for flag in estimate.flags:
            print(f"  {'':{width}}  Mind: {flag.words}.")
    first = found[0]
    for arm, estimate in zip(course.arms[1:], found[1:], strict=True):
        if first is None or estimate is None:
            continue
        apart = difference(estimate.x50_db, first.x50_db)
        verdict = (
            "no difference shown"
            if apart.low <= 0 <= apart.high
            else "harder"
            if apart.value > 0
            else "easier"
        )
        print(
            f"{arm.label} against {course.arms[0].label}: {apart.value:+.1f} dB needed "
            f"({apart.low:+.1f} to {apart.high:+.1f}): {verdict}."
        )
