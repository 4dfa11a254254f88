"""Impulsive noise compared with the voltage deviation of ITU-R P.372 and with closed forms.

Vd = 20 lg (root mean square over mean of the envelope); 10 lg(4/pi) = 1.0491 dB for Gaussian noise,
from the Rayleigh envelope. For a lognormal mixture without clipping, Vd = 1.0491 + 4.343 a^2 before
any filter. P.372 refers Vd to 200 Hz; SciPy's Butterworth filter of 8th order has this width.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats
from scipy.signal import butter, sosfilt

from drill.radio import BASEBAND_RATE_HZ
from drill.radio.noise import BandNoise, static_depth, static_vd_db


def measured_vd_db(noise: NDArray[np.complexfloating]) -> float:
    narrow = butter(8, 100, fs=BASEBAND_RATE_HZ, output="sos")
    envelope = np.abs(sosfilt(narrow, noise.astype(np.complex128)))
    return float(20 * np.log10(np.sqrt(np.mean(envelope**2)) / np.mean(envelope)))


def noise_samples(vd_db: float | None, seconds: float = 600) -> NDArray[np.complex64]:
    noise = BandNoise(1 / BASEBAND_RATE_HZ, vd_db, np.random.default_rng(2))
    return noise.take(round(seconds * BASEBAND_RATE_HZ))


def test_gaussian_noise_has_a_vd_of_1_049_db() -> None:
    assert measured_vd_db(noise_samples(None)) == pytest.approx(1.0491, abs=0.02)


@pytest.mark.slow
@pytest.mark.parametrize("vd_db", [2.0, 3.0, 6.0, 9.0, 12.0])
def test_static_has_the_requested_vd(vd_db: float) -> None:
    assert measured_vd_db(noise_samples(vd_db, 3000)) == pytest.approx(vd_db, abs=0.15)


@pytest.mark.parametrize("depth", [0.1, 0.3, 0.5])
def test_shallow_static_follows_the_closed_form_without_clipping(depth: float) -> None:
    """Where clipping at three sigma hardly matters, Vd is 1.0491 + 4.343 a^2."""
    expected_db = 1.0491 + 4.343 * depth**2
    assert static_vd_db(depth) == pytest.approx(expected_db, abs=0.03)
    # In 200 Hz the crackle is smoothed, so the same Vd takes a slightly deeper mixture.
    assert depth < static_depth(expected_db) < 1.1 * depth


@pytest.mark.slow
@pytest.mark.parametrize("vd_db", [None, 3.0])
def test_the_complex_power_is_twice_the_density_times_the_rate(vd_db: float | None) -> None:
    assert np.mean(np.abs(noise_samples(vd_db, 6000)) ** 2) == pytest.approx(2, rel=0.02)


def test_gaussian_noise_is_gaussian_into_its_tails() -> None:
    """SciPy's Kolmogorov-Smirnov test, moments, and the share beyond four sigma."""
    parts = noise_samples(None).view(np.float32).astype(np.float64)
    assert stats.kstest(parts[:200_000], "norm").pvalue > 0.001
    assert abs(float(stats.kurtosis(parts))) < 0.01
    assert abs(float(stats.skew(parts))) < 0.005
    share = np.mean(np.abs(parts) > 4)
    assert share == pytest.approx(2 * stats.norm.sf(4), rel=0.25)


def test_gaussian_noise_is_white() -> None:
    noise = noise_samples(None, 200)
    for lag in (1, 2, 7, 4096):
        correlation = np.mean(noise[lag:] * np.conj(noise[:-lag])) / np.mean(np.abs(noise) ** 2)
        assert abs(correlation) < 4 / np.sqrt(len(noise))


def test_the_strength_of_static_varies_over_10_ms_and_more() -> None:
    """It is still correlated after 5 ms; white impulses would not be after 1 ms."""
    strength = np.abs(noise_samples(9.0, 120)).astype(np.float64) ** 0.5
    strength -= np.mean(strength)
    lag = round(0.005 * BASEBAND_RATE_HZ)
    correlation = np.mean(strength[lag:] * strength[:-lag]) / np.mean(strength**2)
    assert correlation > 0.3
