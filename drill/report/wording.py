"""Texts that several parts of a report share: conventions, labels, and how figures are written."""

from drill.core.counting import plural
from drill.psychometrics.intervals import Interval
from drill.report.figures import ComparableBlocks

CONVENTIONS = (
    "SNR is active speech level (ITU-T P.56) relative to the noise in 3 kHz. x50 and x80 are the "
    "SNR at which 50 % and 80 % of whole calls are copied, lapses included.",
    "Thresholds and trends come from measurement blocks only; practice never counts. Costs come "
    "from the characters of all answers in noise and are shrunk towards the average. Intervals are "
    "95 %.",
    "An item that was replayed before its answer counts towards the number of answers and the "
    "time spent, and is not right on first hearing; no other figure uses it.",
    "This is not a hearing test: how well you copy through headphones at home does not show how "
    "well you hear.",
)
"""How to read the figures; shown on every screen."""
LABEL_KIND_NAMES = {
    "character": "character",
    "word": "spoken word",
    "style": "kind of word",
    "voice": "operator",
    "fading": "fading preset",
    "conditions": "set of conditions",
    "position": "position in the call or exchange",
}


def describe_setup(group: ComparableBlocks) -> str:
    """Return the common setup of a group's blocks in a few words."""
    plan = group.plan
    conditions = plan.conditions.name or "own conditions"
    operators = plural(len(plan.voices), "operator") if plan.voices else "all operators"
    return f"{plan.part}s, {conditions}, {plan.conditions.fading.name} path, {operators}"


def format_db(interval: Interval) -> str:
    """Return a value in dB with its interval; values that round to 0 get a plus sign."""
    return f"{interval.value:+z.1f} ({interval.low:+z.1f} to {interval.high:+z.1f})"


def format_percent(interval: Interval) -> str:
    """Return a proportion in per cent with its interval."""
    return f"{100 * interval.value:.0f} ({100 * interval.low:.0f} to {100 * interval.high:.0f})"


def capitalise_first(text: str) -> str:
    """Return a text with its first letter in upper case."""
    return text[:1].upper() + text[1:]
