"""The notice that some default operators cannot speak because their engine is not installed."""

from collections.abc import Sequence

from drill import voices
from drill.core.models import Operator
from drill.voices.people.roster import ROSTER

MEASUREMENT_OPERATORS = ("birch", "maple", "copper", "pebble", "meadow", "clover")
"""Operators of a measurement if the user names none: always the same, so that blocks are
comparable."""


def measurement_operators() -> list[Operator]:
    """Return the operators of MEASUREMENT_OPERATORS, including any whose engine is not
    installed."""
    return [operator for operator in ROSTER if operator.name in MEASUREMENT_OPERATORS]


def absent_voices_notice(names: Sequence[str]) -> str:
    """Return a sentence about default operators that cannot speak on this computer, or "".

    names: the operators of a plan. The sentence is for plans that use all default operators that
    can speak; a user who chose operators by name does not need it.
    """
    bundled = [operator for operator in ROSTER if not operator.hard]
    for default in (bundled, measurement_operators()):
        present = [operator for operator in default if operator.name in names]
        absent = [operator for operator in default if operator.name not in names]
        engines = {operator.engine for operator in absent}
        chosen = len(present) != len(names) or engines & {operator.engine for operator in present}
        if not present or not absent or chosen:
            continue
        problems = voices.engine_problems(absent)
        if len(problems) == len(engines):
            return (
                f"{len(absent)} of {len(default)} operators cannot speak here: "
                f"{'; '.join(sorted(problems.values()))}. Until then the same seed gives other "
                "operators than on a computer with all of them."
            )
    return ""
