"""faintcall history: what was practised."""

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drill.core.conditions import Conditions
    from drill.core.models import Attempt
    from drill.records.store import Sitting, Store

EXAMPLES = """examples:
  faintcall history
  faintcall history --last 5
  faintcall history --items 1          every answer of the newest sitting
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall history`."""
    command.description = "Show past sittings, newest first, with score and SNR."
    command.epilog = EXAMPLES
    command.add_argument(
        "--last", type=int, default=20, metavar="N", help="how many sittings (default: 20)"
    )
    command.add_argument(
        "--items", type=int, metavar="K", help="show the answers of sitting K instead, 1 the newest"
    )


def run(options: argparse.Namespace) -> int:
    """Print the table."""
    from drill.core.errors import UserError
    from drill.core.paths import record_file
    from drill.records.store import Store
    from drill.session.blocks import withheld

    if options.last < 1:
        raise UserError(f"--last {options.last} shows nothing; give 1 or more")
    with Store(record_file()) as store:
        sittings = store.sittings(options.last if options.items is None else -1)
        if not sittings:
            print("Nothing is recorded yet. Start with: faintcall copy")
            return 0
        if options.items is None:
            print_sittings(sittings, store)
            return 0
        if not 1 <= options.items <= len(sittings):
            raise UserError(
                f"there is no sitting {options.items}; the record holds 1 to {len(sittings)}"
            )
        chosen = sittings[options.items - 1]
        if withheld(chosen, store):
            raise UserError(f"sitting {options.items} is not finished; it is told at its end")
        print_attempts(store.attempts(chosen.id))
    return 0


def _snr(value: float | None) -> str:
    return "clean" if value is None else f"{value:+.1f} dB"


def _named(conditions: "Conditions") -> str:
    """Return the preset's name; where it is plain, that of the fading tells more."""
    return conditions.fading.name if conditions.name in ("", "plain") else conditions.name


def print_sittings(sittings: "Sequence[Sitting]", store: "Store") -> None:
    """Print one line a sitting."""
    from datetime import datetime

    from drill.items.plan import conditions_from_plan_data
    from drill.session.blocks import withheld

    head = f"{'':>3}  {'when':16}  {'kind':9}  {'part':8}  {'SNR, 3 kHz':>10}  {'conditions':18}"
    print(f"{head}  right     points")
    for number, sitting in enumerate(sittings, 1):
        plan = sitting.plan
        conditions = conditions_from_plan_data(plan)
        when = datetime.fromisoformat(sitting.started).astimezone().strftime("%Y-%m-%d %H:%M")
        right = f"{sitting.right} of {sitting.answered}"
        points = f"{sitting.points:5.0f}"
        if withheld(sitting, store):
            right, points = f"{sitting.answered} answered", ""
        snr = _snr(conditions.snr_db) if sitting.mode == "practice" else "by answers"
        print(
            f"{number:>3}  {when:16}  {sitting.mode:9}  {plan['part']:8}  {snr:>10}  "
            f"{_named(conditions):18}  {right:9} {points}"
        )


def print_attempts(attempts: "Sequence[Attempt]") -> None:
    """Print one line an answer: verdict, sent, typed, SNR and the operator."""
    for number, attempt in enumerate(attempts, 1):
        sent = " ".join(score.sent for score in attempt.scores)
        typed = attempt.answer.typed or "(given up)"
        print(
            f"{number:>3}  {'right' if attempt.right else 'wrong'}  sent {sent}  typed {typed}  "
            f"{_snr(attempt.item.conditions.snr_db)}  {attempt.item.operator.name}  "
            f"{attempt.answer.seconds:.1f} s, heard {attempt.answer.replays + 1} times"
        )
