"""Tilt, falling level and changed pauses, measured on tones."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.models import Clip
from drill.voices.effects.shape import adjust_pauses, lower_level_gradually, tilt_spectrum
from tests.drill.voices.tones import RATE_HZ, pauses_s, tone, tone_words


def test_a_tone_an_octave_higher_gains_the_tilt() -> None:
    low, high = tone(500).samples, tone(1000).samples
    both = Clip(samples=((low + high) / 2).astype(np.float32), rate_hz=RATE_HZ)
    spectrum = np.abs(np.fft.rfft(tilt_spectrum(both, 6.0).samples))
    assert 20 * np.log10(spectrum[1000] / spectrum[500]) == pytest.approx(6.0, abs=0.01)


def test_the_level_falls_from_start_to_end() -> None:
    samples = lower_level_gradually(tone(500, 2.0), 6.0).samples
    start, end = np.abs(samples[:320]).max(), np.abs(samples[-320:]).max()
    assert 20 * np.log10(start / end) == pytest.approx(6.0, abs=0.1)


@given(st.lists(st.floats(-0.3, 0.3), min_size=1, max_size=6))
def test_pauses_become_longer_and_shorter(added_s: list[float]) -> None:
    """Of 100 ms of silence, at most 70 ms are removed, in steps of 5 ms."""
    clip = tone_words(len(added_s) + 1)
    changed = adjust_pauses(clip, added_s)
    expected_s = [max(0.1 + seconds, 0.03) for seconds in added_s]
    assert pauses_s(changed) == pytest.approx(expected_s, abs=0.011)
    growth_s = sum(seconds - 0.1 for seconds in expected_s)
    assert changed.seconds - clip.seconds == pytest.approx(growth_s, abs=0.006 * len(expected_s))
    energy = np.mean(changed.samples**2) * changed.seconds
    assert energy == pytest.approx(np.mean(clip.samples**2) * clip.seconds, rel=0.02)
