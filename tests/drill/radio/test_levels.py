"""Speech level: behaviour under gain, padding and bad input; the SNR as a noise density.

tests/outside/test_p56.py compares the level with the ITU's own program.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.signal import lfilter

from drill.radio.levels import (
    AVERAGE_BLOCK,
    decibels,
    exponential_average,
    noise_density,
    power_from_db,
    speech_level,
)

RATE_HZ = 16_000
TIME = np.arange(8 * RATE_HZ) / RATE_HZ
SINE = 0.25 * np.sin(2 * np.pi * 1000 * TIME)


@given(gain_db=st.floats(-80, 40))
def test_a_gain_changes_the_level_by_its_decibels_and_not_the_activity(gain_db: float) -> None:
    signal = (SINE * (TIME % 2 < 0.5))[: 4 * RATE_HZ]
    before = speech_level(signal, RATE_HZ)
    after = speech_level(signal * 10 ** (gain_db / 20), RATE_HZ)
    assert after.active_db - before.active_db == pytest.approx(gain_db, abs=1e-6)
    assert after.activity == before.activity


@pytest.mark.parametrize("padding_s", [0.5, 3.0, 20.0])
def test_silence_around_the_speech_does_not_count(padding_s: float) -> None:
    signal = SINE * (TIME % 1 < 0.5)
    padded = np.pad(signal, round(padding_s * RATE_HZ))
    level_db = speech_level(padded, RATE_HZ).active_db
    assert level_db == pytest.approx(speech_level(signal, RATE_HZ).active_db, abs=0.1)


def test_the_level_is_never_above_the_peak() -> None:
    rng = np.random.default_rng(1)
    for _ in range(20):
        burst = np.zeros(RATE_HZ)
        start = int(rng.integers(0, RATE_HZ - 2000))
        burst[start : start + 2000] = rng.uniform(-0.3, 0.3, 2000)
        assert speech_level(burst, RATE_HZ).active_db <= 20 * np.log10(np.max(np.abs(burst)))


@pytest.mark.parametrize("signal", [np.zeros(8000), np.array([]), np.full(8000, np.nan)])
def test_a_signal_without_speech_is_rejected(signal: NDArray[np.float64]) -> None:
    with pytest.raises(ValueError, match="no speech to measure"):
        speech_level(signal, RATE_HZ)


def test_a_single_click_is_rejected() -> None:
    click = np.zeros(8000)
    click[4000] = 1.0
    with pytest.raises(ValueError, match="no steady part"):
        speech_level(click, RATE_HZ)


def test_3_khz_are_34_771_db_above_1_hz() -> None:
    """Source: 10 lg 3000 = 34.771."""
    density_db = 10 * np.log10(noise_density(snr_db=6.0, active_db=-20.0))
    assert density_db == pytest.approx(-26.0 - 34.771, abs=1e-3)
    assert power_from_db(-3.0103) == pytest.approx(0.5, rel=1e-5)


@pytest.mark.parametrize("power", [0.0, -1.0, float("nan")])
def test_power_that_is_not_positive_has_no_level(power: float) -> None:
    with pytest.raises(ValueError, match="must be positive"):
        decibels(power)


@pytest.mark.parametrize("count", [1, AVERAGE_BLOCK, 3 * AVERAGE_BLOCK + 7])
@pytest.mark.parametrize("decay", [0.6, 0.94, 0.999])
def test_exponential_average_equals_the_filter_of_scipy(count: int, decay: float) -> None:
    """Source: scipy.signal.lfilter."""
    values = np.random.default_rng(count).random(count).astype(np.float32)
    expected = lfilter([1 - decay], [1, -decay], values)
    np.testing.assert_allclose(exponential_average(values, decay), expected, rtol=1e-12)
