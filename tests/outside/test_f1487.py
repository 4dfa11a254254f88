"""The fading channel against ITU-R F.1487 and the statistics of a Rayleigh process.

Sources: ITU-R F.1487 (05/2000), table of conditions and the definition of frequency spread (two
sigma of the Gaussian power spectrum); S. O. Rice, Mathematical analysis of random noise, Bell Syst.
Tech. J. 24 (1945), for crossing rates: N = sqrt(pi) B rho exp(-rho^2) for this spectrum.
Tolerances leave about four standard errors of the length measured.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from drill.items import Fading
from drill.radio import RADIO_RATE_HZ
from drill.radio.ionosphere import fade, tap
from drill.radio.presets import fading, fading_names

# name of ours: (differential delay in ms, frequency spread in Hz), as in the Recommendation
F1487 = {
    "low-quiet": (0.5, 0.5),
    "low-moderate": (2, 1.5),
    "low-disturbed": (6, 10),
    "mid-quiet": (0.5, 0.1),
    "mid-moderate": (1, 0.5),
    "mid-disturbed": (2, 1),
    "mid-near-vertical": (7, 1),
    "high-quiet": (1, 0.5),
    "high-moderate": (3, 10),
    "high-disturbed": (7, 30),
}
SPREAD_HZ = 1.0
RATE_HZ = 64.0
SECONDS = 20_000


@pytest.fixture(scope="module")
def long_tap() -> NDArray[np.complex128]:
    return tap(int(SECONDS * RATE_HZ), RATE_HZ, SPREAD_HZ, np.random.default_rng(7))


def test_presets_are_the_recommendations_table() -> None:
    assert set(fading_names()) == {"steady", *F1487}
    for name, (delay_ms, spread_hz) in F1487.items():
        assert fading(name) == Fading(name=name, delay_ms=delay_ms, spread_hz=spread_hz)


def test_mean_power_is_one(long_tap: NDArray[np.complex128]) -> None:
    assert np.mean(np.abs(long_tap) ** 2) == pytest.approx(1, abs=0.03)


def test_spread_is_two_sigma_of_the_power_spectrum(long_tap: NDArray[np.complex128]) -> None:
    """The second moment of the Doppler spectrum; shaping by S for its root would give 0.71."""
    spectrum = np.abs(np.fft.fft(long_tap)) ** 2
    frequency = np.fft.fftfreq(len(long_tap), 1 / RATE_HZ)
    sigma = np.sqrt(np.sum(frequency**2 * spectrum) / np.sum(spectrum))
    assert 2 * sigma == pytest.approx(SPREAD_HZ, rel=0.03)


def test_autocorrelation_is_gaussian(long_tap: NDArray[np.complex128]) -> None:
    """rho(tau) = exp(-(pi B tau)^2 / 2): one half at 0.375 / B, 1/e at 0.450 / B."""
    for lag_s, wanted in [(0.375, 0.5), (0.453125, np.exp(-1.0))]:
        lag = round(lag_s * RATE_HZ)
        rho = np.mean(long_tap[lag:] * np.conj(long_tap[:-lag])) / np.mean(np.abs(long_tap) ** 2)
        assert rho.real == pytest.approx(wanted, abs=0.025)
        assert abs(rho.imag) < 0.025


def test_envelope_is_rayleigh(long_tap: NDArray[np.complex128]) -> None:
    """Samples 1/B apart are nearly independent: Kolmogorov and Smirnov's test."""
    apart = np.abs(long_tap[:: round(RATE_HZ / SPREAD_HZ)])
    assert stats.kstest(apart, stats.rayleigh(scale=np.sqrt(0.5)).cdf).pvalue > 0.001


@pytest.mark.parametrize(
    ("below_db", "share"), [(3, 0.39419), (6, 0.22212), (10, 0.095163), (20, 0.0099502)]
)
def test_depth_of_fades(long_tap: NDArray[np.complex128], below_db: int, share: float) -> None:
    """P(power < mean - x dB) = 1 - exp(-10^(-x/10)). Without Q: 0.25 at 10."""
    found = np.mean(np.abs(long_tap) ** 2 < 10 ** (-below_db / 10))
    assert found == pytest.approx(share, rel=0.08)


@pytest.mark.parametrize("level_db", [0, -3, -10])
def test_crossing_rate_is_rices(long_tap: NDArray[np.complex128], level_db: int) -> None:
    rho = 10 ** (level_db / 20)
    above = np.abs(long_tap) >= rho
    rate = np.count_nonzero(~above[:-1] & above[1:]) / SECONDS
    assert rate == pytest.approx(np.sqrt(np.pi) * SPREAD_HZ * rho * np.exp(-(rho**2)), rel=0.04)


def test_two_taps_are_independent() -> None:
    generator = np.random.default_rng(3)
    first, second = (tap(int(4000 * RATE_HZ), RATE_HZ, SPREAD_HZ, generator) for _ in range(2))
    correlation = np.mean(first * np.conj(second))
    assert abs(correlation) < 4 / np.sqrt(1.77 * 4000 * SPREAD_HZ)


def test_a_short_item_keeps_its_own_mean_power() -> None:
    """Slow fading makes whole items weak or strong; scaling each to unit power would hide it."""
    powers = [
        np.mean(np.abs(tap(300, 100.0, 0.1, np.random.default_rng(seed))) ** 2)
        for seed in range(400)
    ]
    assert np.mean(powers) == pytest.approx(1, abs=0.2)
    assert np.std(powers) > 0.7


def test_a_tone_through_both_paths_has_unit_mean_power() -> None:
    tone = np.exp(2j * np.pi * 1000 * np.arange(60 * RADIO_RATE_HZ) / RADIO_RATE_HZ)
    heard = fade(tone, RADIO_RATE_HZ, fading("high-moderate"), np.random.default_rng(5))
    assert np.mean(np.abs(heard) ** 2) == pytest.approx(1, abs=0.12)


@pytest.mark.parametrize("delay_ms", [0.5, 1.0, 2.0, 7.0])
def test_two_paths_notch_the_spectrum_at_one_over_the_delay(delay_ms: float) -> None:
    """Source: |1 + exp(-j 2 pi f tau)| is zero every 1/tau, 2000 Hz at 0.5 ms."""
    click = np.zeros(RADIO_RATE_HZ, dtype=np.complex128)
    click[0] = 1
    path = Fading(delay_ms=delay_ms, spread_hz=0.0)
    response = np.abs(np.fft.fft(fade(click, RADIO_RATE_HZ, path, np.random.default_rng(2))))
    notches = np.flatnonzero((response < np.roll(response, 1)) & (response < np.roll(response, -1)))
    assert np.diff(notches) == pytest.approx(1000 / delay_ms, abs=2)


def test_a_steady_path_changes_nothing() -> None:
    signal = np.exp(1j * np.arange(1000.0))
    assert fade(signal, RADIO_RATE_HZ, Fading(), np.random.default_rng(0)) is signal
