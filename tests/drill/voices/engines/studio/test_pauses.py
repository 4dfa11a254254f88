"""Pauses are made long enough, without clicks and without touching the words.

The sound is a tone of 1 s with three words of about a third each.
"""

import numpy as np
import pytest

from drill.voices.engines.studio.pauses import lengthen_pauses

RATE_HZ = 24_000
TONE = 0.5 * np.sin(2 * np.pi * 200 * np.arange(RATE_HZ) / RATE_HZ)
SPANS = (("a", 0.0, 0.3), ("b", 0.35, 0.6), ("c", 0.65, 1.0))


def test_nothing_changes_without_punctuation() -> None:
    sound, spans = lengthen_pauses(TONE, RATE_HZ, SPANS, ["", "", ""])
    assert np.array_equal(sound, TONE)
    assert tuple(spans) == SPANS


def test_silence_is_inserted_where_a_voice_runs_on() -> None:
    sound, spans = lengthen_pauses(TONE, RATE_HZ, SPANS, [",", ".", "."])
    inserted_s = 0.12 + 0.25 - 0.01  # one frame of 5 ms at each place counts as quiet
    assert len(sound) == pytest.approx(len(TONE) + inserted_s * RATE_HZ, abs=2)
    for (_, _, end), (_, start, _), shortest in zip(spans, spans[1:], (0.12, 0.25), strict=False):
        assert start - end == pytest.approx(shortest, abs=1e-6)
        inner = sound[round((end + 0.005) * RATE_HZ) : round((start - 0.005) * RATE_HZ)]
        assert not inner.any()
    assert spans[-1][2] == pytest.approx(len(sound) / RATE_HZ, abs=0.006)
    assert np.abs(np.diff(sound)).max() < 0.03  # the largest step of the tone itself: no click


def test_a_pause_that_is_long_enough_stays() -> None:
    paused = TONE.copy()
    paused[round(0.28 * RATE_HZ) : round(0.42 * RATE_HZ)] = 0
    sound, spans = lengthen_pauses(paused, RATE_HZ, SPANS, [",", "", ""])
    assert np.array_equal(sound, paused)
    assert spans[0][2] == pytest.approx(0.28, abs=0.006)
    assert spans[1][1] == pytest.approx(0.41, abs=0.02)
