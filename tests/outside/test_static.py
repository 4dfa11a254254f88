"""Impulsive noise against the voltage deviation of ITU-R P.372 and closed forms.

Vd = 20 lg (root mean square over mean of the envelope); 10 lg(4/pi) = 1.0491 dB for Gaussian noise,
from the Rayleigh envelope. For a lognormal mixture without a cut, Vd = 1.0491 + 4.343 a^2.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from drill.radio import BASEBAND_RATE_HZ
from drill.radio.noise import BandNoise, static_depth, static_vd_db


def vd_db(noise: NDArray[np.complexfloating]) -> float:
    envelope = np.abs(noise).astype(np.float64)
    return float(20 * np.log10(np.sqrt(np.mean(envelope**2)) / np.mean(envelope)))


def taken(asked: float | None, seconds: float = 600) -> NDArray[np.complex64]:
    noise = BandNoise(1 / BASEBAND_RATE_HZ, asked, np.random.default_rng(2))
    return noise.take(round(seconds * BASEBAND_RATE_HZ))


def test_gaussian_noise_has_1_049_db() -> None:
    assert vd_db(taken(None)) == pytest.approx(1.0491, abs=0.01)


@pytest.mark.parametrize("asked", [2.0, 3.0, 6.0, 9.0, 12.0])
def test_static_has_the_vd_asked_for(asked: float) -> None:
    assert vd_db(taken(asked)) == pytest.approx(asked, abs=0.3)


@pytest.mark.parametrize("depth_a", [0.1, 0.3, 0.5])
def test_a_shallow_static_follows_the_uncut_law(depth_a: float) -> None:
    """Where the cut at three sigma hardly matters: 1.0491 + 4.343 a^2."""
    wanted = 1.0491 + 4.343 * depth_a**2
    assert static_vd_db(depth_a) == pytest.approx(wanted, abs=0.03)
    assert static_depth(static_vd_db(depth_a)) == pytest.approx(depth_a, abs=1e-6)


@pytest.mark.parametrize("asked", [None, 3.0])
def test_the_mean_power_is_one(asked: float | None) -> None:
    assert np.mean(np.abs(taken(asked, 3000)) ** 2) == pytest.approx(2, rel=0.02)


def test_gaussian_noise_is_gaussian_to_its_tails() -> None:
    """Box and Muller in single precision: scipy's Kolmogorov-Smirnov, moments, four sigma."""
    parts = taken(None).view(np.float32).astype(np.float64)
    assert stats.kstest(parts[:200_000], "norm").pvalue > 0.001
    assert abs(float(stats.kurtosis(parts))) < 0.01
    assert abs(float(stats.skew(parts))) < 0.005
    share = np.mean(np.abs(parts) > 4)
    assert share == pytest.approx(2 * stats.norm.sf(4), rel=0.25)


def test_gaussian_noise_is_white() -> None:
    noise = taken(None, 200)
    for lag in (1, 2, 7, 4096):
        correlation = np.mean(noise[lag:] * np.conj(noise[:-lag])) / np.mean(np.abs(noise) ** 2)
        assert abs(correlation) < 4 / np.sqrt(len(noise))


def test_crashes_last() -> None:
    """Static changes its strength over 10 ms and more; white impulses would be gone in 1 ms."""
    strength = np.abs(taken(9.0, 120)).astype(np.float64) ** 0.5
    strength -= np.mean(strength)
    lag = round(0.005 * BASEBAND_RATE_HZ)
    later = np.mean(strength[lag:] * strength[:-lag]) / np.mean(strength**2)
    assert later > 0.3


@pytest.mark.parametrize("asked", [1.0, 12.5, float("nan")])
def test_a_vd_that_cannot_be_is_refused(asked: float) -> None:
    with pytest.raises(ValueError, match="voltage deviation"):
        static_depth(asked)
