"""The check whether the recogniser understands a voice well enough to judge it."""

import numpy as np
import pytest

from drill.core.models import Clip
from drill.recogniser.language import call_grammar
from drill.recogniser.own.engine import OwnRecogniser
from drill.recogniser.own.voice_check import VoiceCheck, check_voice, words_in_order
from drill.voices import speak
from drill.voices.operators import find_operator
from phonetics.message import Word

SAID = ("kilo", "seven", "delta", "x-ray", "papa", "mike")


@pytest.mark.parametrize(
    ("recognised", "right"),
    [("a b c", 3), ("a c", 2), ("c b a", 1), ("x a y b z c", 3), ("", 0), ("x", 0)],
)
def test_words_count_once_and_in_their_order(recognised: str, right: int) -> None:
    assert words_in_order(["a", "b", "c"], recognised.split()) == right


@pytest.mark.parametrize(
    ("words", "right", "conclusive", "judged"),
    [(0, 0, False, False), (7, 7, False, False), (8, 8, True, True), (20, 18, True, True),
     (20, 17, True, False)],
)  # fmt: skip
def test_a_voice_is_judged_from_nine_words_in_ten(
    words: int, right: int, conclusive: bool, judged: bool
) -> None:
    check = VoiceCheck(words, right)
    assert (check.is_conclusive, check.can_be_judged) == (conclusive, judged)


def test_a_clear_operator_can_be_judged_and_noise_cannot() -> None:
    recogniser, grammar = OwnRecogniser(), call_grammar(alternates=True)
    words = [Word(say=word) for word in SAID]
    clear = speak(words, find_operator("meadow"), 1)
    take = (clear, grammar, SAID)
    assert check_voice(recogniser, [take, take]).can_be_judged
    noise = np.random.default_rng(0).standard_normal(len(clear.samples)).astype(np.float32)
    mumbled = (Clip(samples=0.1 * noise, rate_hz=clear.rate_hz), grammar, SAID)
    assert not check_voice(recogniser, [mumbled, mumbled]).can_be_judged
