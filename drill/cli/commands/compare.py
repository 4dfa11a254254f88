"""faintcall compare: two or more alternatives in one blind session, with the difference in dB."""

import argparse

from drill.cli.options import add_plan_options
from drill.cli.session_loop import add_session_options, run_session
from drill.session.kinds.comparison import Comparison

_EPILOG = """You can compare conditions, fading, filter, processing, voices (join names with +),
alternates (share of letters not spelt with the ITU's word, 0 to 1), exchange and mix. The items of
all alternatives are mixed in a hidden order, 40 items for each. The SNR of an alternative
follows your answers to its own items. At the end you get the 50 % threshold (x50) of each
alternative and the differences with their intervals.

examples:
  faintcall compare fading steady mid-disturbed
  faintcall compare alternates 0 0.5
  faintcall compare voices birch+maple tin+rivet
  faintcall compare filter 2600 1800 --conditions usual-day --items 60
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall compare`."""
    command.description = "Compare two or more alternatives in one blind session."
    command.epilog = _EPILOG
    command.add_argument("what", nargs="?", metavar="WHAT", help="the choice to vary")
    command.add_argument("values", nargs="*", metavar="VALUE", help="two or more values for it")
    add_plan_options(command, items=Comparison.default_count)
    add_session_options(command, Comparison.activity)


def run(options: argparse.Namespace) -> int:
    """Run a comparison and print its result."""
    return run_session(options, Comparison.activity)
