"""The receiver's AGC over time, and the audio limiter."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray

from drill.radio import AUDIO_RATE_HZ
from drill.radio.receiver import (
    AGC_TARGET_DB,
    AGC_TIMING,
    LIMITER_CEILING_DB,
    LIMITER_KNEE_DB,
    limit_peaks,
    receiver_agc,
)


def agc_output(
    audio: NDArray[np.float32], name: str = "medium", start_db: float = 0.0
) -> NDArray[np.float32]:
    control = receiver_agc(name, start_db)
    return np.concatenate([control.process(audio), control.finish()])


def constant(amplitude_db: float, seconds: float) -> NDArray[np.float32]:
    return np.full(round(seconds * AUDIO_RATE_HZ), 10 ** (amplitude_db / 20), np.float32)


@pytest.mark.parametrize("amplitude_db", [-60.0, -30.0, 0.0, 20.0])
def test_any_level_settles_at_the_target(amplitude_db: float) -> None:
    output = agc_output(constant(amplitude_db, 4.0))
    assert 20 * np.log10(output[-1000]) == pytest.approx(AGC_TARGET_DB, abs=0.05)


def test_the_gain_is_at_most_60_db() -> None:
    output = agc_output(constant(-90.0, 4.0))
    assert 20 * np.log10(output[-1000]) == pytest.approx(-30, abs=0.05)


@pytest.mark.parametrize("name", AGC_TIMING)
def test_a_crash_reduces_the_gain_for_the_stated_time(name: str) -> None:
    """After a crash of 30 dB the gain holds, then recovers at the stated rate."""
    audio = constant(-20, 6.0)
    crash = AUDIO_RATE_HZ
    audio[crash : crash + 160] *= 10 ** (30 / 20)
    gain_db = 20 * np.log10(agc_output(audio, name, -20.0) / audio)
    before_db, held_db = gain_db[crash - 1000], gain_db[crash + 80]
    assert before_db - held_db == pytest.approx(30, abs=0.1)
    timing = AGC_TIMING[name]
    hold_end = crash + round((timing.hold_s - 0.01) * AUDIO_RATE_HZ)
    assert np.allclose(gain_db[crash + 80 : hold_end], held_db, atol=0.01)
    half = crash + round((timing.hold_s + 15 / timing.decay_db_per_s) * AUDIO_RATE_HZ)
    tolerance_db = 0.03 * 15 + 0.01 * timing.decay_db_per_s
    assert gain_db[half] - held_db == pytest.approx(15, abs=tolerance_db)


@given(audio=arrays(np.float32, 50, elements=st.floats(-1e6, 1e6, width=32)))
def test_the_limiter_bounds_loud_samples_and_keeps_quiet_ones(
    audio: NDArray[np.float32],
) -> None:
    output = limit_peaks(audio)
    ceiling, knee = 10 ** (LIMITER_CEILING_DB / 20), 10 ** (LIMITER_KNEE_DB / 20)
    assert np.all(np.abs(output) <= ceiling + 1e-6)
    quiet = np.abs(audio) <= knee
    assert np.array_equal(output[quiet], audio[quiet])
    order = np.argsort(audio)
    assert np.all(np.diff(output[order]) >= -1e-6)  # a louder sample stays louder


@pytest.mark.parametrize(("name", "recovery_s"), [("quick", 0.4), ("medium", 1.1), ("slow", 2.5)])
def test_the_gain_recovers_within_the_time_that_the_manual_states(
    name: str, recovery_s: float
) -> None:
    """The time runs from a fall of 20 dB until the output is within 0.5 dB of the target."""
    audio = np.concatenate([constant(0, 1.0), constant(-20, 4.0)])
    output = agc_output(audio, name)[AUDIO_RATE_HZ:]
    target = 10 ** ((AGC_TARGET_DB - 0.5) / 20)
    measured_s = float(np.argmax(output > target)) / AUDIO_RATE_HZ
    assert measured_s == pytest.approx(recovery_s, abs=0.1)
