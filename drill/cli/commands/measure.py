"""faintcall measure: the SNR at which the trainee copies half of all calls, with an interval."""

import argparse

from drill.cli.options import add_plan_options
from drill.cli.session_loop import add_session_options, run_session
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.quick_check import QuickCheck

_EPILOG = """A measurement is a block of 60 whole calls and takes about eight minutes. Your answers
set the SNR. Answers are not scored until the end and calls are not replayed, so that the result
depends only on your copying. At the end you get the 50 % threshold (x50) and x80, the SNR in 3 kHz
at which you copy 50 % and 80 % of whole calls, with 95 % intervals, the slope, and what it means in
watts. A later block under the same conditions starts from the known slope and is pooled with the
earlier ones.

while you copy:
  type what you copied and press Enter; ? in place of a character; . and Enter for nothing at all
  i and Enter             show the estimate so far (knowing it can bias you)
Ctrl-C stops; `faintcall measure --continue` continues.

examples:
  faintcall measure
  faintcall measure --conditions usual-day --until 2
  faintcall measure --quick
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall measure`."""
    command.description = "Measure the SNR at which you copy half of all calls, with its interval."
    command.epilog = _EPILOG
    command.add_argument(
        "--quick",
        dest="kind",
        action="store_const",
        const=QuickCheck.name,
        default=Measurement.name,
        help="30 calls scored by characters; gives a character threshold, not x50",
    )
    command.add_argument(
        "--until",
        type=float,
        metavar="DB",
        help="end as soon as the 95 %% interval of x50 is this narrow, after 40 items or more",
    )
    add_plan_options(command, items=Measurement.default_count)
    add_session_options(command, Measurement.activity)


def run(options: argparse.Namespace) -> int:
    """Run a measurement or quick check and print its result."""
    return run_session(options, Measurement.activity)
