"""The notice that some default operators cannot speak because their engine is not installed."""

from collections.abc import Sequence

from drill import voices
from drill.core.models import Operator
from drill.voices.operators import find_operators
from drill.voices.people.roster import FORMANT_GROUP, NATURAL_GROUP, ROSTER

MEASUREMENT_OPERATORS = ("birch", "maple", "copper", "pebble", "meadow", "clover")
"""Operators of a measurement if the user names none: always the same, so that blocks are
comparable."""


def measurement_operators() -> list[Operator]:
    """Return the operators of MEASUREMENT_OPERATORS, including any whose engine is not
    installed."""
    return [operator for operator in ROSTER if operator.name in MEASUREMENT_OPERATORS]


def absent_voices_notice(names: Sequence[str]) -> str:
    """Return a sentence if formant operators speak because the natural ones cannot, else "".

    names: the operators of a plan.
    """
    formant = {operator.name for operator in find_operators([FORMANT_GROUP])}
    if set(names) != formant:
        return ""
    natural = find_operators([NATURAL_GROUP])
    problems = voices.engine_problems(natural)
    if not problems:
        return ""
    return (
        f"The {len(natural)} natural operators cannot speak here: "
        f"{'; '.join(sorted(problems.values()))}. Formant operators, which are harder to "
        "understand, speak in their place, so the same seed gives other operators than on a "
        "computer with the natural voice."
    )
