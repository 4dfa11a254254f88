"""Outside check: pocketsphinx 5.1.1, which was not trained with faintcall, understands operators.

It may recognise any code words and figures in any order. Model and dictionary are those of the CMU
Sphinx project (BSD), for US English. The required 80 % of words were chosen by the project; a
recorded person reaches 90 to 96 % (test_voice_gate_with_person.py). The table of the voice gate
(tests/measured/voice_gate.md) uses another outside recogniser, Whisper; its figures for `own` are
measured again here.
"""

import pytest

from drill.core.models import Operator
from drill.voices import speak_uncached
from drill.voices.people.roster import ROSTER
from tests.tools.test_voice_gate import measured_share
from tests.tools.voice_gate.calls import TABLE_SEED
from tests.tools.voice_gate.judge import judge_operator

EASY = [operator for operator in ROSTER if operator.engine == "natural" and not operator.hard]
SELECTED = dict.fromkeys(
    [
        *{operator.vocal_style: operator for operator in EASY}.values(),
        *{operator.accent: operator for operator in EASY}.values(),
    ]
)
"""The last natural operator of each style and of each accent."""


@pytest.mark.slow
@pytest.mark.parametrize("operator", SELECTED, ids=lambda operator: operator.name)
class TestNaturalOperators:
    def test_pocketsphinx_understands_them(self, operator: Operator) -> None:
        count = judge_operator(operator, speak_uncached, recogniser="pocketsphinx", seed=TABLE_SEED)
        assert count.share_right >= 0.8, count.mistakes

    def test_own_understands_as_many_words_as_in_the_table(self, operator: Operator) -> None:
        """The tolerance of 2 %, one word of 60, allows for other versions of numpy."""
        count = judge_operator(operator, speak_uncached, recogniser="own", seed=TABLE_SEED)
        assert count.passed, count.mistakes
        measured = measured_share(operator, "own")
        assert count.share_right == pytest.approx(measured, abs=0.02)
