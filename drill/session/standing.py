"""Where a sitting stands, in sentences: what it is, how it goes, what is left."""

from dataclasses import replace

from drill.psychometrics.intervals import Quantity
from drill.psychometrics.posterior import fit
from drill.session.blocks import rng_of
from drill.session.courses import Checking, Comparing, Course, Measuring
from drill.session.session import Practice, Tally


def described(course: Course) -> str:
    """Return the conditions of a sitting in a few words; of a comparison no more than its seed."""
    plan = course.plan
    if course.mode == "comparing":
        return f"things compared in an order that is told at the end, seed {plan.seed}"
    if course.mode == "practice":
        return f"{plan.conditions.sentence}, seed {plan.seed}"
    # The level moves: what the plan has for it does not matter.
    sentence = replace(plan.conditions, snr_db=0.0).sentence.replace("SNR 0 dB in 3 kHz, ", "")
    return f"SNR by your answers, {sentence}, seed {plan.seed}"


def announced(course: Course) -> str:
    """Return what a sitting consists of, in a sentence."""
    ups = getattr(getattr(course, "placement", None), "warm_ups", 0)
    count = f"{course.count} item{'' if course.count == 1 else 's'}"
    warming = f", the first {ups} to warm up" if ups and course.mode != "training" else ""
    return f"{count}{warming}: {described(course)}."


def shown(name: str, optional_if: str) -> str:
    """Return the name of a field to copy, and what may be left out."""
    return f"{name} (may be left out if {optional_if})" if optional_if else name


def stand(tally: Tally, count: int) -> str:
    """Return where the trainee stands, in a sentence."""
    if not tally.answered:
        return "No answer yet."
    return (
        f"{tally.right} of {tally.answered} logged right, {tally.characters_right} of "
        f"{tally.characters_sent} characters, {tally.points / tally.answered:.0f} points an item; "
        f"{count - tally.answered} to go."
    )


def figure(quantity: Quantity) -> str:
    """Return a figure in dB with its interval."""
    return f"{quantity.value:+.1f} dB (95 %: {quantity.low:+.1f} to {quantity.high:+.1f})"


def standing(practice: Practice) -> str:
    """Return where the trainee stands, in a sentence that fits the kind of sitting."""
    course = practice.course
    left = course.count - len(practice.attempts)
    if isinstance(course, Comparing):
        return f"{left} to go."  # who leads would bias the listener
    if isinstance(course, Measuring):
        trials = [t for t in course.trials(practice.attempts) if not t.warm_up]
        if trials:
            estimate = fit(trials, course.placement.prior, rng_of(course.plan))
            return f"x50 so far {figure(estimate.x50_db)}; {left} to go at most."
        return f"Nothing to say yet; {left} to go."
    if isinstance(course, Checking):
        if practice.attempts:
            return f"{practice.tally.characters_right} characters so far; {left} to go."
        return f"Nothing to say yet; {left} to go."
    return stand(practice.tally, course.count)
