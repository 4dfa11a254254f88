"""The intelligibility index, and the parts of a take that the channel damages most."""

import numpy as np
import pytest

from drill.core.models import Clip, Samples, WordTime
from drill.sending.intelligibility import (
    TRIM_MARGIN_S,
    EnvelopeCorrelation,
    correlate_envelopes,
    estoi_index,
    lost_words,
    trim_silence,
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


def voice(seconds: float, rate_hz: int = 16_000) -> Samples:
    """Return modulated noise as loud as speech."""
    time_s = np.arange(round(seconds * rate_hz)) / rate_hz
    noise = np.random.default_rng(2).normal(0, 0.1, len(time_s))
    return np.asarray(noise * (1.2 + np.sin(2 * np.pi * 4 * time_s)), np.float32)


@pytest.mark.parametrize(("before_s", "after_s"), [(0.0, 0.0), (0.05, 1.0), (1.0, 0.0), (2.0, 2.0)])
def test_trimming_does_not_depend_on_the_silence(before_s: float, after_s: float) -> None:
    sound = voice(1.0)
    silence = [np.zeros(round(seconds * 16_000), np.float32) for seconds in (before_s, after_s)]
    samples = np.concatenate([silence[0], sound, silence[1]])
    trimmed, start_s = trim_silence(Clip(samples=samples, rate_hz=16_000))
    alone, alone_s = trim_silence(Clip(samples=sound, rate_hz=16_000))
    assert trimmed.seconds == pytest.approx(1.3, abs=0.05)
    # The level by P.56 changes a little with the silence, and so does the limit.
    assert start_s - alone_s == pytest.approx(before_s, abs=0.002)
    assert len(trimmed.samples) == pytest.approx(len(alone.samples), abs=64)


def test_a_click_is_not_speech() -> None:
    samples = np.concatenate([np.zeros(16_000, np.float32), voice(1.0)])
    samples[100:120] = 0.9
    _, start_s = trim_silence(Clip(samples=samples, rate_hz=16_000))
    assert start_s == pytest.approx(1 - TRIM_MARGIN_S, abs=0.03)


def test_silence_cannot_be_trimmed() -> None:
    with pytest.raises(ValueError, match="silent"):
        trim_silence(Clip(samples=np.zeros(16_000, np.float32), rate_hz=16_000))


def test_times_of_a_trimmed_take_are_those_of_the_take() -> None:
    correlation = EnvelopeCorrelation(bands=((500, 0.5),), times=((0.5, 0.9), (1.25, 0.3)))
    assert correlation.shifted(1.0).times == ((1.5, 0.9), (2.25, 0.3))
    assert correlation.shifted(1.0).bands == correlation.bands
