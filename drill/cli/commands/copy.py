"""faintcall copy: practise copying in the terminal.

The output is plain lines of text that never change afterwards, so that a screen reader can follow.
"""

import argparse
from pathlib import Path

from drill.cli.audio_out import ElsewhereOutput
from drill.cli.options import add_plan_options, session_options_from
from drill.cli.session_loop import add_session_options, run_session
from drill.core.errors import UserError
from drill.session.kinds.practice import Practice
from drill.session.kinds.training import Training

_EPILOG = """while you copy (press Enter after each):
  type what you copied, in one line, and press Enter; case and spaces do not matter
  ?  in place of a character that you could not make out
  n   hear the item again (then it is no longer a first hearing)
  .   give up
  i   where you are: item, result so far, whether the sound plays
  s   stop for now; Enter on an empty line does nothing
  =a  answer with the letter a: a single letter is a key, never an answer
after the answer:
  Enter   next item           n   hear the item again in noise
  c       hear it clean       d   details: how each word arrived
  3, 3c   word 3 alone, in noise and clean
  i       where you are       s   stop for now
Ctrl-C stops at any time; every answer is saved.

examples:
  faintcall copy
  faintcall copy --items 10 --snr 3 --fading mid-quiet
  faintcall copy --part over --exchange zone-amateur --pace 1.2
  faintcall copy --train --conditions usual-day
  faintcall copy --audio-to DIR       write each item as a file, if there is no sound card
  faintcall copy --set club-evening --without-sound
                                      type what a loudspeaker in the room plays of a rendered set
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall copy`."""
    command.description = "Hear fictional stations in noise, type what you copy, see what was sent."
    command.epilog = _EPILOG
    add_plan_options(command, items=Practice.default_count)
    add_session_options(command, Practice.activity)
    command.add_argument(
        "--set",
        type=Path,
        metavar="DIR",
        help="copy the items of a set that faintcall render wrote into this folder",
    )
    command.add_argument(
        "--without-sound",
        action="store_true",
        help="play nothing, because the items sound elsewhere, such as from a loudspeaker",
    )
    command.add_argument(
        "--train",
        dest="kind",
        action="store_const",
        const=Training.name,
        default=Practice.name,
        help="training: the SNR adapts so that you copy about 77 %% of the items, half of the "
        "calls are chosen by what you miss, and after a miss you hear the item clean and in noise "
        "again",
    )


def run(options: argparse.Namespace) -> int:
    """Run a session of practice."""
    output = ElsewhereOutput() if options.without_sound else None
    kind = None if options.set is None else _practice_with_set(options)
    return run_session(options, Practice.activity, kind=kind, output=output)


def _practice_with_set(options: argparse.Namespace) -> Practice:
    """Return practice with the items of a rendered set. Raises: UserError."""
    given = sorted(session_options_from(options).given)
    if options.resume:
        raise UserError(
            "--continue continues any session, including one with a set; leave out --set"
        )
    if given or options.kind != Practice.name:
        raise UserError(
            "a rendered set has its own items and conditions; leave out every other option",
            field=given[0] if given else "kind",
        )
    from drill.itemsets.read import read_item_set

    return Practice(plan=read_item_set(options.set).plan)
