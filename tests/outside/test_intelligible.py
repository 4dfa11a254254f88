"""Outside check: pocketsphinx 5.1.1, which was not trained with faintcall, understands operators.

The required accuracy, 95 % of words for natural voices and 85 % for formant voices, was chosen by
the project. Model and dictionary of the recogniser are those of the CMU Sphinx project (BSD).
tests/measured/voice_gate.md lists all operators; these tests repeat the measurement for a few of
every engine, vocal style and accent.
"""

import pytest

from drill.core.models import Operator
from drill.voices import speak_uncached
from drill.voices.people.roster import ROSTER
from tests.tools.test_voice_gate import measured_accuracy
from tests.tools.voice_gate import judge_operator

EASY = [operator for operator in ROSTER if not operator.hard]
SELECTED = dict.fromkeys(
    [
        *{(operator.engine, operator.vocal_style): operator for operator in EASY}.values(),
        *{(operator.engine, operator.accent): operator for operator in EASY}.values(),
    ]
)
"""The last operator of each engine and style, and of each engine and accent."""


@pytest.mark.slow
@pytest.mark.parametrize("operator", SELECTED, ids=lambda operator: operator.name)
def test_an_operator_is_understood_as_the_table_says(operator: Operator) -> None:
    """The tolerance of 2 %, two words of 120, allows for other versions of numpy."""
    verdict = judge_operator(operator, speak_uncached)
    assert verdict.passed, f"{100 * verdict.accuracy:.1f} %: {verdict.confusions}"
    assert verdict.accuracy == pytest.approx(measured_accuracy(operator), abs=0.02)
