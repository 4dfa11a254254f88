"""faintcall measure: the SNR at which calls are copied, with an honest interval."""

import argparse
from typing import TYPE_CHECKING

from drill.cli.options import MEASURED, Commands, add_plan, plan_from
from drill.cli.sitting import add_sitting, hold

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drill.courses import Checking, Course, Measuring
    from drill.items import Attempt
    from drill.measuring import Block
    from drill.practice import Practice
    from drill.records.store import Store
    from drill.threshold.grid import Trial
    from drill.threshold.intervals import Quantity
    from drill.threshold.posterior import Estimate

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


def add(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the command."""
    command = commands.add_parser(
        "measure",
        help="measure at which SNR you copy calls, with an interval",
        description="Measure at which SNR you copy whole calls, with an honest interval.",
        epilog=TEXT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
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
    from drill.courses import Checking, Measuring
    from drill.folders import record_file
    from drill.records.store import Store

    with Store(record_file()) as store:
        practice = hold(
            options,
            store,
            lambda: _course(options, store),
            modes=("measuring", "quick"),
            standing=standing,
        )
        if practice.finished:
            course = practice.course
            if isinstance(course, Checking):
                print_check(course, practice.attempts)
            elif isinstance(course, Measuring):
                print_block(course, practice.attempts, store)
    return 0


def _course(options: argparse.Namespace, store: "Store") -> "Course":
    """Return the block that the options ask for. Raises: UserError."""
    from dataclasses import replace

    from drill import measuring, voices
    from drill.errors import UserError
    from drill.voices.roster import ROSTER

    if options.snr is not None or options.watts is not None:
        raise UserError("measuring chooses the SNR itself; leave out --snr and --watts")
    if options.part != "call":
        raise UserError("measuring is of whole calls; leave out --part, or use faintcall compare")
    plan = plan_from(options)
    if not options.voices:
        fixed = [one for one in ROSTER if one.name in measuring.VOICES]
        names = tuple(one.name for one in voices.usable_operators(fixed))
        plan = replace(plan, voices=names)
    if options.quick:
        count = measuring.CHECK_ITEMS if options.items == MEASURED else options.items
        return measuring.checking(replace(plan, count=count))
    return measuring.measuring(plan, store, until_db=options.until)


def standing(practice: "Practice") -> str:
    """Return the estimate so far, in a sentence."""
    from drill.courses import Checking, Measuring
    from drill.measuring import rng_of
    from drill.threshold.posterior import fit

    course = practice.course
    left = course.count - len(practice.attempts)
    if isinstance(course, Measuring):
        trials = [t for t in course.trials(practice.attempts) if not t.warm_up]
        if trials:
            estimate = fit(trials, course.placement.prior, rng_of(course.plan))
            return f"x50 so far {figure(estimate.x50_db)}; {left} to go at most."
    if isinstance(course, Checking) and practice.attempts:
        return f"{practice.tally.characters_right} characters so far; {left} to go."
    return f"Nothing to say yet; {left} to go."


def figure(quantity: "Quantity") -> str:
    """Return a figure in dB with its interval."""
    return f"{quantity.value:+.1f} dB (95 %: {quantity.low:+.1f} to {quantity.high:+.1f})"


def print_estimate(estimate: "Estimate") -> None:
    """Print thresholds, slope, and all that has to be said beside them."""
    slope = estimate.slope_per_db
    print(f"  x50  {figure(estimate.x50_db)}: half of the calls are copied at this SNR in 3 kHz")
    print(f"  x80  {figure(estimate.x80_db)}: four fifths")
    print(
        f"  slope {100 * slope.value:.0f} % a dB at x50 (95 %: {100 * slope.low:.0f} to "
        f"{100 * slope.high:.0f}); {estimate.right} of {estimate.n} copied, "
        f"{estimate.blocks} block{'s' if estimate.blocks > 1 else ''}"
    )
    print(f"  {estimate.goodness.words[0].upper()}{estimate.goodness.words[1:]}.")
    for flag in estimate.flags:
        print(f"  Mind: {flag.words}.")


def watts_sentence(estimate: "Estimate") -> str:
    """Return what the estimate means in watts, in a sentence."""
    from drill.radio.budget import watts_to_snr
    from drill.threshold.posterior import at_power

    shares = []
    for watts in (20.0, 5.0):
        share = at_power(estimate, watts_to_snr(0.0, watts))
        if share is None:
            return "In watts nothing can be said: half of the calls are never copied."
        shares.append(
            f"{100 * share.value:.0f} % ({100 * share.low:.0f} to {100 * share.high:.0f}) at "
            f"{watts:g} W"
        )
    return (
        "In watts: of what you copy half the time at 100 W, you would on the same path copy "
        + " and ".join(shares)
        + "."
    )


def print_levels(trials: "Sequence[Trial]", estimate: "Estimate") -> None:
    """Print the curve and its data in steps of SNR."""
    from drill.threshold.bins import binned

    print(f"\n  {'SNR, 3 kHz':>14}  {'copied':>9}  {'share, 95 %':>18}  {'curve':>6}")
    for row in binned(trials, estimate):
        span = f"{row.low_db:+.1f} to {row.high_db:+.1f}"
        share = (
            f"{100 * row.share.value:.0f} % ({100 * row.share.low:.0f}-{100 * row.share.high:.0f})"
        )
        print(f"  {span:>14}  {row.right:3} of {row.n:2}  {share:>18}  {100 * row.curve:4.0f} %")


def print_block(course: "Measuring", attempts: "Sequence[Attempt]", store: "Store") -> None:
    """Print what a block tells alone, with the earlier ones, and against the one before."""
    from drill.measuring import blocks, pooled, rng_of
    from drill.threshold.posterior import fit

    trials = [t for t in course.trials(attempts) if not t.warm_up]
    estimate = fit(trials, course.placement.prior, rng_of(course.plan))
    print("\nThis block:")
    print_estimate(estimate)
    print_levels(trials, estimate)
    print(watts_sentence(estimate))
    alike = blocks(store, course.plan)
    if len(alike) > 1:
        print(f"\nAll {len(alike)} blocks of this kind together:")
        print_estimate(pooled(alike))
        print(change_sentence(alike))


def change_sentence(alike: "Sequence[Block]") -> str:
    """Return how the last block differs from the one before, in a sentence."""
    from drill.threshold.intervals import difference, smallest_change

    before, now = (block.estimate().x50_db for block in alike[-2:])
    change = difference(now, before)
    least = smallest_change(before.sd, now.sd)
    verdict = "no change shown" if abs(change.value) < least else "a change"
    return (
        f"Against the block before: x50 {change.value:+.1f} dB ({change.low:+.1f} to "
        f"{change.high:+.1f}); less than {least:.1f} dB is no more than chance: {verdict}."
    )


def print_check(course: "Checking", attempts: "Sequence[Attempt]") -> None:
    """Print the character threshold of a quick check."""
    from drill.courses import character_trials
    from drill.threshold.characters import TARGET, fit_characters

    found = fit_characters(character_trials(attempts), course.start_db)
    print("\nThis check:")
    print(
        f"  character threshold {figure(found.threshold_db)}: {100 * TARGET:.0f} % of the "
        f"characters are copied at this SNR in 3 kHz; {found.characters} characters in "
        f"{found.items} calls"
    )
    for flag in found.flags:
        print(f"  Mind: {flag.words}.")
    print(
        "  It is of single characters and is never to be mixed with x50, which is of whole calls."
    )
