"""Outside check: pocketsphinx 5.1.1 understands operators of the studio engine.

The required accuracy, 95 % of words, was chosen by the project. The operators are those with the
lowest and the highest voice, a British and a foreign one.
"""

from random import Random

import pytest

from drill.voices import find_engine
from drill.voices.operators import find_operator
from tests.drill.voices.common import missing_reason
from tests.tools.voice_gate import compose_gate_calls, judge_operator

CALLS = 10


@pytest.mark.slow
@pytest.mark.skipif(bool(missing_reason("studio")), reason="the extra `studio` is not installed")
@pytest.mark.parametrize("name", ["thunder", "dusk", "monsoon", "galaxy"])
def test_an_operator_is_understood(name: str) -> None:
    verdict = judge_operator(find_operator(name), find_engine("studio").synthesise, calls=CALLS)
    assert verdict.passed, f"{100 * verdict.accuracy:.1f} %: {verdict.confusions}"


def test_ten_calls_have_every_letter_and_digit() -> None:
    characters = "".join(compose_gate_calls(CALLS, Random(5)))
    assert set(characters) == set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789")
