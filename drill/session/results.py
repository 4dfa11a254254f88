"""What a finished sitting tells: passages of sentences and tables, the same for every screen."""

from collections.abc import Sequence

from drill.core.models import Attempt
from drill.core.text_blocks import Passage, Table
from drill.linkbudget.budget import watts_to_snr
from drill.psychometrics.bins import bin_trials
from drill.psychometrics.character_threshold import CHARACTER_TARGET, fit_character_threshold
from drill.psychometrics.grid import Trial
from drill.psychometrics.intervals import difference_interval, smallest_detectable_change
from drill.psychometrics.posterior import Estimate, fit, proportion_at_power
from drill.records.store import Store
from drill.session.blocks import Block, arm_estimates, blocks, pooled, rng_of
from drill.session.courses import Checking, Comparing, Course, Measuring, character_trials
from drill.session.session import Practice
from drill.session.standing import figure, standing

LADDER_W = (20.0, 5.0)
"""Powers that a threshold is told for, against 100 W."""


def outcome(practice: Practice, store: Store) -> list[Passage]:
    """Return what a sitting tells as it stands; before its end no more than how it goes."""
    course, attempts = practice.course, practice.attempts
    if practice.finished and attempts:
        if isinstance(course, Measuring):
            return block_told(course, attempts, store)
        if isinstance(course, Checking):
            return [check_told(course, attempts)]
        if isinstance(course, Comparing):
            return [comparison_told(course, attempts)]
    return [Passage(sentences=(standing(practice),))]


def block_told(course: Measuring, attempts: Sequence[Attempt], store: Store) -> list[Passage]:
    """Return what a block tells alone, with the earlier ones, and against the one before."""
    trials = counted(course, attempts)
    if not trials:
        return [Passage(title="This block", sentences=("No call counts: each was heard again.",))]
    estimate = fit(trials, course.placement.prior, rng_of(course.plan))
    found = [
        Passage(
            title="This block",
            figures=estimate_told(estimate),
            table=levels(trials, estimate),
            sentences=(watts_told(estimate),),
        )
    ]
    alike = blocks(store, course.plan)
    if len(alike) > 1:
        found.append(
            Passage(
                title=f"All {len(alike)} blocks of this kind together",
                figures=estimate_told(pooled(alike)),
                sentences=(change_told(alike),),
            )
        )
    return found


def counted(course: Course, attempts: Sequence[Attempt]) -> list[Trial]:
    """Return the trials of a measuring block that count; of any other course none."""
    if not isinstance(course, Measuring):
        return []
    return [t for t in course.trials(attempts) if not t.warm_up]


def estimate_told(estimate: Estimate) -> tuple[str, ...]:
    """Return thresholds, slope, and all that has to be said beside them."""
    slope = estimate.slope_per_db
    goodness = estimate.goodness.words
    return (
        f"x50  {figure(estimate.x50_db)}: half of the calls are copied at this SNR in 3 kHz",
        f"x80  {figure(estimate.x80_db)}: four fifths",
        f"slope {100 * slope.value:.0f} % a dB at x50 (95 %: {100 * slope.low:.0f} to "
        f"{100 * slope.high:.0f}); {estimate.right} of {estimate.n} copied, "
        f"{estimate.blocks} block{'s' if estimate.blocks > 1 else ''}",
        f"{goodness[0].upper()}{goodness[1:]}.",
        *(f"Mind: {flag.words}." for flag in estimate.flags),
    )


def watts_told(estimate: Estimate) -> str:
    """Return what an estimate means in watts, in a sentence."""
    shares = []
    for watts in LADDER_W:
        share = proportion_at_power(estimate, watts_to_snr(0.0, watts))
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


def levels(trials: Sequence[Trial], estimate: Estimate) -> Table:
    """Return the curve and its data in steps of SNR."""
    rows = [
        (
            f"{row.low_db:+.1f} to {row.high_db:+.1f}",
            f"{row.right:3} of {row.n:2}",
            f"{100 * row.share.value:.0f} % ({100 * row.share.low:.0f}-{100 * row.share.high:.0f})",
            f"{100 * row.curve:4.0f} %",
        )
        for row in bin_trials(trials, estimate)
    ]
    return Table(
        caption="Calls copied by SNR",
        head=("SNR, 3 kHz", "copied", "share, 95 %", "curve"),
        rows=tuple(rows),
    )


def change_told(alike: Sequence[Block]) -> str:
    """Return how the last block differs from the one before, in a sentence."""
    before, now = (block.estimate().x50_db for block in alike[-2:])
    change = difference_interval(now, before)
    least = smallest_detectable_change(before.sd, now.sd)
    verdict = "no change shown" if abs(change.value) < least else "a change"
    return (
        f"Against the block before: x50 {change.value:+.1f} dB ({change.low:+.1f} to "
        f"{change.high:+.1f}); less than {least:.1f} dB is no more than chance: {verdict}."
    )


def check_told(course: Checking, attempts: Sequence[Attempt]) -> Passage:
    """Return the character threshold of a quick check."""
    found = fit_character_threshold(character_trials(attempts), course.start_db)
    return Passage(
        title="This check",
        figures=(
            f"character threshold {figure(found.threshold_db)}: {100 * CHARACTER_TARGET:.0f} % of the "
            f"characters are copied at this SNR in 3 kHz; {found.characters} characters in "
            f"{found.items} calls",
            *(f"Mind: {flag.words}." for flag in found.flags),
            "It is of single characters and is never to be mixed with x50, which is of whole "
            "calls.",
        ),
    )


def comparison_told(course: Comparing, attempts: Sequence[Attempt]) -> Passage:
    """Return x50 of each arm, and each against the first."""
    found = arm_estimates(course, attempts)
    rows, minds = [], []
    for arm, estimate in zip(course.arms, found, strict=True):
        if estimate is None:
            rows.append((arm.label, "nothing heard", ""))
            continue
        copied = f"{estimate.right} of {estimate.n} copied"
        rows.append((arm.label, figure(estimate.x50_db), copied))
        minds += [f"Mind, {arm.label}: {flag.words}." for flag in estimate.flags]
    against = []
    for arm, estimate in zip(course.arms[1:], found[1:], strict=True):
        if found[0] is not None and estimate is not None:
            against.append(_against(arm.label, estimate, course.arms[0].label, found[0]))
    table = Table(caption="Each alone", head=("", "x50, SNR in 3 kHz", "calls"), rows=tuple(rows))
    return Passage(table=table, sentences=(*minds, *against))


def _against(label: str, estimate: Estimate, other: str, first: Estimate) -> str:
    apart = difference_interval(estimate.x50_db, first.x50_db)
    verdict = (
        "no difference shown"
        if apart.low <= 0 <= apart.high
        else "harder"
        if apart.value > 0
        else "easier"
    )
    return (
        f"{label} against {other}: {apart.value:+.1f} dB needed "
        f"({apart.low:+.1f} to {apart.high:+.1f}): {verdict}."
    )
