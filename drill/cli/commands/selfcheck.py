"""faintcall selfcheck: measure the channel on this computer against published limits."""

import argparse
import sys

from tqdm import tqdm

from drill import __version__
from drill.selfcheck.checks import SELF_CHECKS
from drill.selfcheck.figures import CheckedFigure

EXAMPLES = """examples:
  faintcall selfcheck

Each line is a measurement made now, with the code that the drills use: the quantity, its value, the
limits, and the source of the limits. It takes about 20 seconds on an idle computer.
The exit code is 0 if every value is within its limits, and 1 otherwise.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the description of `faintcall selfcheck`, which has no options."""
    command.description = "Measure the channel on this computer and compare it with the standards."
    command.epilog = EXAMPLES


def run(options: argparse.Namespace) -> int:
    """Print each figure when it is measured; return 1 if any is outside its limits."""
    print(
        f"faintcall {__version__}. The seeds are fixed; only this computer's arithmetic can vary."
    )
    print(f"{'':6} {'quantity':62} {'value':>9}  {'limits':>19}  {'unit':6}  source")
    failed = total = 0
    with tqdm(
        total=len(SELF_CHECKS), unit="check", disable=None, file=sys.stderr, leave=False
    ) as bar:
        for check in SELF_CHECKS:
            for figure in check():
                total += 1
                failed += not figure.passed
                bar.write(_line(figure), file=sys.stdout)
            bar.update()
    print(f"{total - failed} of {total} values are within their limits.")
    if failed:
        print("Please report the lines marked FAILED, with your computer and versions.")
    return 1 if failed else 0


def _line(figure: CheckedFigure) -> str:
    verdict = "ok" if figure.passed else "FAILED"
    limits = f"{figure.low:.5g} to {figure.high:.5g}"
    return (
        f"{verdict:6} {figure.quantity:62} {figure.value:9.3f}  {limits:>19}  "
        f"{figure.unit:6}  {figure.source}"
    )
