"""The gain that follows the level, and the limiter."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray

from drill.radio import AUDIO_RATE_HZ
from drill.radio.gain_control import GainControl, GainTiming
from drill.radio.receiver import (
    AGC_TARGET_DB,
    AGC_TIMING,
    LIMITER_CEILING_DB,
    LIMITER_KNEE_DB,
    limit_peaks,
    receiver_agc,
)


def controlled(
    sound: NDArray[np.float32], name: str = "medium", start_db: float = 0.0
) -> NDArray[np.float32]:
    control = receiver_agc(name, start_db)
    return np.concatenate([control.process(sound), control.finish()])


def level(amplitude_db: float, seconds: float) -> NDArray[np.float32]:
    return np.full(round(seconds * AUDIO_RATE_HZ), 10 ** (amplitude_db / 20), np.float32)


@pytest.mark.parametrize("amplitude_db", [-60.0, -30.0, 0.0, 20.0])
def test_any_level_comes_out_at_the_target(amplitude_db: float) -> None:
    out = controlled(level(amplitude_db, 4.0))
    assert 20 * np.log10(out[-1000]) == pytest.approx(AGC_TARGET_DB, abs=0.05)


def test_gain_ends_at_60_db() -> None:
    out = controlled(level(-90.0, 4.0))
    assert 20 * np.log10(out[-1000]) == pytest.approx(-30, abs=0.05)


@pytest.mark.parametrize("name", AGC_TIMING)
def test_a_crash_takes_the_gain_down_for_its_time(name: str) -> None:
    """After a crash of 30 dB the gain stays for the hold, then comes back at the stated rate."""
    crash = level(-20, 6.0)
    at = AUDIO_RATE_HZ
    crash[at : at + 160] *= 10 ** (30 / 20)
    gain_db = 20 * np.log10(controlled(crash, name, -20.0) / crash)
    usual, low = gain_db[at - 1000], gain_db[at + 80]
    assert usual - low == pytest.approx(30, abs=0.1)
    pace = AGC_TIMING[name]
    held_until = at + round((pace.hold_s - 0.01) * AUDIO_RATE_HZ)
    assert np.allclose(gain_db[at + 80 : held_until], low, atol=0.01)
    half = at + round((pace.hold_s + 15 / pace.decay_db_per_s) * AUDIO_RATE_HZ)
    assert gain_db[half] - low == pytest.approx(15, abs=0.03 * 15 + 0.01 * pace.decay_db_per_s)


@settings(deadline=None, max_examples=40)
@given(
    sound=arrays(np.float32, st.integers(0, 4000), elements=st.floats(-10, 10, width=32)),
    piece=st.integers(1, 700),
)
def test_pieces_of_any_size_give_what_the_whole_gives(
    sound: NDArray[np.float32], piece: int
) -> None:
    reference = controlled(sound)
    control = receiver_agc("medium", 0.0)
    parts = [control.process(sound[at : at + piece]) for at in range(0, len(sound), piece)]
    joined = np.concatenate([*parts, control.finish()])
    assert len(joined) == len(reference) == len(sound)
    assert np.allclose(joined, reference, rtol=1e-5, atol=1e-7)


@settings(deadline=None)
@given(sound=arrays(np.float32, 2000, elements=st.floats(-100, 100, width=32)))
def test_no_rise_outruns_the_gain(sound: NDArray[np.float32]) -> None:
    """The gain is down when the peak arrives: nothing ever comes out above the target."""
    assert np.max(np.abs(controlled(sound))) <= 10 ** (AGC_TARGET_DB / 20) * 1.001


def test_a_law_of_no_gain_changes_nothing() -> None:
    idle = GainControl(np.zeros_like, GainTiming(hold_s=0.1, decay_db_per_s=20), AUDIO_RATE_HZ)
    sound = np.random.default_rng(1).standard_normal(5000).astype(np.float32)
    assert np.array_equal(np.concatenate([idle.process(sound), idle.finish()]), sound)


@given(sound=arrays(np.float32, 50, elements=st.floats(-1e6, 1e6, width=32)))
def test_the_limiter_holds(sound: NDArray[np.float32]) -> None:
    out = limit_peaks(sound)
    top, knee = 10 ** (LIMITER_CEILING_DB / 20), 10 ** (LIMITER_KNEE_DB / 20)
    assert np.all(np.abs(out) <= top + 1e-6)
    quiet = np.abs(sound) <= knee
    assert np.array_equal(out[quiet], sound[quiet])
    order = np.argsort(sound)
    assert np.all(np.diff(out[order]) >= -1e-6)  # a louder sample stays the louder one
