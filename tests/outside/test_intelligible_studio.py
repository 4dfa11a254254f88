"""Outside check: pocketsphinx 5.1.1 understands operators of the studio engine.

It may recognise any code words and figures in any order. The required 80 % of words were chosen
by the project. The operators are those with the
lowest and the highest voice, a British and a foreign one.
"""

from random import Random

import pytest

from drill.voices import find_engine
from drill.voices.operators import find_operator
from tests.drill.voices.common import missing_reason
from tests.tools.voice_gate.calls import CALLS, TUNING_SEED, compose_gate_calls
from tests.tools.voice_gate.judge import judge_operator


@pytest.mark.slow
@pytest.mark.skipif(bool(missing_reason("studio")), reason="the extra `studio` is not installed")
@pytest.mark.parametrize("name", ["thunder", "dusk", "monsoon", "galaxy"])
def test_an_operator_is_understood(name: str) -> None:
    count = judge_operator(
        find_operator(name), find_engine("studio").synthesise, recogniser="pocketsphinx"
    )
    assert count.share_right >= 0.8, count.mistakes


def test_ten_calls_have_every_letter_and_digit() -> None:
    characters = "".join(compose_gate_calls(CALLS, Random(TUNING_SEED)))
    assert set(characters) == set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789")
