"""The intelligibility index, and where the channel takes most."""

import pytest

from drill.core.models import WordTime
from drill.sending.intelligibility import (
    EnvelopeCorrelation,
    correlate_envelopes,
    estoi_index,
    lost_words,
)
from drill.sending.prompts import compose_prompt
from drill.voices.operators import find_operator
from tests.drill.sending.takes import own_station
from tests.tools.defects import DEFECTS, spoil_take


def test_a_voice_is_completely_intelligible_beside_itself() -> None:
    prompt = compose_prompt("call", own_station(), 2)
    clip = spoil_take(prompt, find_operator("meadow"), DEFECTS["none"], 1).clip
    assert estoi_index(clip, clip) == pytest.approx(1)
    correlation = correlate_envelopes(clip, clip)
    values = [value for _, value in (*correlation.bands, *correlation.times)]
    assert values == pytest.approx([1.0] * len(values))


def test_words_with_the_lowest_correlation_are_lost() -> None:
    times = ((0.5, 0.9), (1.5, 0.3), (2.5, 0.5), (3.5, 0.59), (4.5, 0.1))
    correlation = EnvelopeCorrelation(bands=(), times=times)
    words = [
        WordTime(say=say, start_s=start_s, end_s=start_s + 1)
        for start_s, say in enumerate(["alfa", "bravo", "charlie", "delta", "echo"])
    ]
    assert lost_words(correlation, words) == ("bravo", "charlie", "echo")
    assert lost_words(correlation, words, at_most=1) == ("echo",)
    assert lost_words(correlation, words[:1]) == ()
