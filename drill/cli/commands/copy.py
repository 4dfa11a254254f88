"""faintcall copy: practise copying in the terminal.

The output is plain lines of text that never change afterwards, so that a screen reader can follow.
"""

import argparse

from drill.cli.options import add_plan_options
from drill.cli.session_loop import add_session_options, run_session
from drill.session.kinds.practice import Practice
from drill.session.kinds.training import Training

_EPILOG = """while you copy:
  type what you copied, in one line, and press Enter; case and spaces do not matter
  ?  in place of a character that you could not make out
  Enter on an empty line   hear the item again (leaves it out of the statistics)
  .  and Enter             give up
  ?  and Enter             show your score
  =n and Enter             answer with the letter n (n, c and s alone are commands)
after the answer:
  Enter   next item          n   hear the item again in noise
  c       hear it clean      s   stop
Ctrl-C stops at any time; every answer is saved.

examples:
  faintcall copy
  faintcall copy --items 10 --snr 3 --fading mid-quiet
  faintcall copy --part over --exchange zone-amateur --pace 1.2
  faintcall copy --train --conditions usual-day
  faintcall copy --audio-to DIR       write each item as a file, if there is no sound card
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall copy`."""
    command.description = "Hear fictional stations in noise, type what you copy, see what was sent."
    command.epilog = _EPILOG
    add_plan_options(command, items=Practice.default_count)
    add_session_options(command, Practice.activity)
    command.add_argument(
        "--train",
        dest="kind",
        action="store_const",
        const=Training.name,
        default=Practice.name,
        help="training: the SNR adapts so that you copy about 77 %% of the items, half of the "
        "calls are chosen by what you miss, and after a miss you hear the item clean and in noise again",
    )


def run(options: argparse.Namespace) -> int:
    """Run a session of practice."""
    return run_session(options, Practice.activity)
