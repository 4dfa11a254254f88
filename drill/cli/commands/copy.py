"""faintcall copy: the drill in the terminal.

Every line is a sentence or a row of characters; nothing moves, so that a screen reader can follow.
"""

import argparse
from typing import TYPE_CHECKING

from drill.cli.options import add_plan, choices_from
from drill.cli.session_loop import add_sitting, hold

if TYPE_CHECKING:
    from drill.records.store import Store
    from drill.session.courses import Course

KEYS = """while you copy:
  type what you copied, in one line, and press Enter; case and spaces do not matter
  ?  in place of a character that you could not make out
  Enter on an empty line   hear it again (takes a fifth of the item's points)
  .  and Enter             give up
  ?  and Enter             where do I stand
after the answer:
  Enter   next item          n   hear it again in the noise
  c       hear it clean      s   stop
Ctrl-C stops at any time; every answer is kept.

examples:
  faintcall copy
  faintcall copy --items 10 --snr 3 --fading mid-quiet
  faintcall copy --part over --exchange zone-amateur --pace 1.2
  faintcall copy --train --conditions usual-day
  faintcall copy --audio-to DIR       write each item as a file, where there is no sound card
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall copy`."""
    command.description = "Hear fictional stations in noise, type what you copy, see what was sent."
    command.epilog = KEYS
    add_plan(command)
    command.add_argument(
        "--train",
        action="store_true",
        help="the SNR follows you so that about 78 %% of the items are copied, half of the calls "
        "come by what you were found to miss, and a miss is heard clean and in the noise again",
    )
    add_sitting(command)
    command.set_defaults(run=run, command="copy")


def run(options: argparse.Namespace) -> int:
    """Run the drill until its end, the end of input, or Ctrl-C."""
    from drill.core.paths import record_file
    from drill.records.store import Store

    with Store(record_file()) as store:
        hold(options, store, lambda: _course(options, store), modes=("practice", "training"))
    return 0


def _course(options: argparse.Namespace, store: "Store") -> "Course":
    """Return the sitting that the options ask for. Raises: UserError."""
    from drill.session.options import course_for

    return course_for("training" if options.train else "practice", choices_from(options), store)
