"""Fading compared with ITU-R F.1487 and the statistics of a Rayleigh process.

Sources: ITU-R F.1487 (05/2000), table of conditions, and the definition of frequency spread (two
sigma of the Gaussian power spectrum); S. O. Rice, Mathematical analysis of random noise, Bell Syst.
Tech. J. 24 (1945), for crossing rates: N = sqrt(pi) B rho exp(-rho^2) for this spectrum.
Tolerances are about four standard errors for the length that is measured.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from drill.core.conditions import Fading
from drill.radio import BASEBAND_RATE_HZ
from drill.radio.fading import WattersonFading
from drill.radio.fading_taps import FadingTap
from drill.radio.presets import parse_fading

# preset: (differential delay in ms, frequency spread in Hz), as in the Recommendation
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
# CCIR Recommendation 520 / ITU-R F.520, as quoted by several channel simulators (second-hand).
CCIR_520 = {
    "ccir-good": (0.5, 0.1),
    "ccir-moderate": (1, 0.5),
    "ccir-poor": (2, 1),
    "flutter": (0.5, 10),
}
SPREAD_HZ = 1.0
RATE_HZ = 64
SECONDS = 20_000


@pytest.fixture(scope="module")
def long_tap() -> NDArray[np.complex128]:
    tap = FadingTap(SPREAD_HZ, RATE_HZ, np.random.default_rng(7))
    return tap.take(SECONDS * RATE_HZ).astype(np.complex128)


def faded(signal: NDArray[np.inexact], fading: Fading, seed: int) -> NDArray[np.complex128]:
    stage = WattersonFading(fading, np.random.default_rng(seed))
    output = np.concatenate([stage.process(signal.astype(np.complex64)), stage.finish()])
    return output.astype(np.complex128)


@pytest.mark.parametrize("name", [*F1487, *CCIR_520])
def test_presets_have_the_values_of_the_recommendations(name: str) -> None:
    delay_ms, spread_hz = {**F1487, **CCIR_520}[name]
    assert parse_fading(name) == Fading(name=name, delay_ms=delay_ms, spread_hz=spread_hz)


def test_the_mean_power_of_a_tap_is_one(long_tap: NDArray[np.complex128]) -> None:
    assert np.mean(np.abs(long_tap) ** 2) == pytest.approx(1, abs=0.03)


def test_the_spread_is_two_sigma_of_the_power_spectrum(long_tap: NDArray[np.complex128]) -> None:
    """Second moment of the Doppler spectrum; shaping by S instead of its root would give 0.71."""
    spectrum = np.abs(np.fft.fft(long_tap)) ** 2
    frequency = np.fft.fftfreq(len(long_tap), 1 / RATE_HZ)
    sigma = np.sqrt(np.sum(frequency**2 * spectrum) / np.sum(spectrum))
    assert 2 * sigma == pytest.approx(SPREAD_HZ, rel=0.03)


def test_the_autocorrelation_is_gaussian(long_tap: NDArray[np.complex128]) -> None:
    """rho(tau) = exp(-(pi B tau)^2 / 2): one half at 0.375 / B, 1/e at 0.450 / B."""
    for lag_s, expected in [(0.375, 0.5), (0.453125, np.exp(-1.0))]:
        lag = round(lag_s * RATE_HZ)
        rho = np.mean(long_tap[lag:] * np.conj(long_tap[:-lag])) / np.mean(np.abs(long_tap) ** 2)
        assert rho.real == pytest.approx(expected, abs=0.025)
        assert abs(rho.imag) < 0.025


def test_the_envelope_is_rayleigh_distributed(long_tap: NDArray[np.complex128]) -> None:
    """Kolmogorov-Smirnov test on samples 1/B apart, which are nearly independent."""
    independent = np.abs(long_tap[:: round(RATE_HZ / SPREAD_HZ)])
    assert stats.kstest(independent, stats.rayleigh(scale=np.sqrt(0.5)).cdf).pvalue > 0.001


@pytest.mark.parametrize(
    ("below_db", "expected"), [(3, 0.39419), (6, 0.22212), (10, 0.095163), (20, 0.0099502)]
)
def test_the_share_of_time_in_deep_fades(
    long_tap: NDArray[np.complex128], below_db: int, expected: float
) -> None:
    """P(power < mean - x dB) = 1 - exp(-10^(-x/10)). A real-valued tap would have 0.25 at 10 dB."""
    share = np.mean(np.abs(long_tap) ** 2 < 10 ** (-below_db / 10))
    assert share == pytest.approx(expected, rel=0.08)


@pytest.mark.parametrize("level_db", [0, -3, -10])
def test_the_level_crossing_rate_follows_rices_formula(
    long_tap: NDArray[np.complex128], level_db: int
) -> None:
    rho = 10 ** (level_db / 20)
    above = np.abs(long_tap) >= rho
    rate = np.count_nonzero(~above[:-1] & above[1:]) / SECONDS
    assert rate == pytest.approx(np.sqrt(np.pi) * SPREAD_HZ * rho * np.exp(-(rho**2)), rel=0.04)


def test_two_taps_are_independent() -> None:
    first, second = (
        FadingTap(SPREAD_HZ, RATE_HZ, child).take(4000 * RATE_HZ)
        for child in np.random.default_rng(3).spawn(2)
    )
    correlation = np.mean(first * np.conj(second))
    assert abs(correlation) < 4 / np.sqrt(1.77 * 4000 * SPREAD_HZ)


def test_a_short_realisation_is_not_normalised() -> None:
    """Slow fading makes whole items weak or strong; normalising each one would hide that."""
    powers = [
        np.mean(np.abs(FadingTap(0.1, 100, np.random.default_rng(seed)).take(300)) ** 2)
        for seed in range(400)
    ]
    assert np.mean(powers) == pytest.approx(1, abs=0.2)
    assert np.std(powers) > 0.7


def test_a_tone_through_both_paths_has_unit_mean_power() -> None:
    tone = np.exp(2j * np.pi * 500 * np.arange(60 * BASEBAND_RATE_HZ) / BASEBAND_RATE_HZ)
    output = faded(tone, parse_fading("high-moderate"), 5)
    assert np.mean(np.abs(output) ** 2) == pytest.approx(1, abs=0.12)


@pytest.mark.parametrize("delay_ms", [0.5, 0.7, 1.0, 2.0, 3.3, 7.0])
def test_two_paths_notch_the_spectrum_at_intervals_of_one_over_the_delay(delay_ms: float) -> None:
    """Source: |1 + exp(-j 2 pi f tau)| is zero every 1/tau, which is 2000 Hz for 0.5 ms."""
    impulse = np.zeros(BASEBAND_RATE_HZ, dtype=np.complex128)
    impulse[100] = 1
    response = np.abs(np.fft.fft(faded(impulse, Fading(delay_ms=delay_ms), 2)))
    # The band of a voice; one bin is 1 Hz wide.
    band = np.concatenate([response[-1250:], response[:1250]])
    inner = band[1:-1]
    notches = np.flatnonzero((inner < band[:-2]) & (inner < band[2:]) & (inner < 0.1))
    assert len(notches) >= 1
    assert np.diff(notches) == pytest.approx(1000 / delay_ms, abs=3)


@pytest.mark.slow
def test_unequal_paths_share_the_power() -> None:
    """With the second path 10 dB weaker, the taps have 10/11 and 1/11 of the power."""
    impulse = np.zeros(400, dtype=np.complex128)
    impulse[40] = 1
    fading = Fading(delay_ms=2.0, spread_hz=5.0, second_db=-10.0)
    powers = np.mean(
        [np.abs(faded(impulse, fading, seed)[[40, 48]]) ** 2 for seed in range(4000)], axis=0
    )
    assert powers == pytest.approx([10 / 11, 1 / 11], rel=0.08)


def test_a_specular_path_has_a_ricean_envelope() -> None:
    """Steady component 6 dB above the scattered one: SciPy's Rice distribution at 1/B apart."""
    ratio = 10 ** (6 / 10)
    fading = Fading(delay_ms=0.0, spread_hz=4.0, specular_db=6.0, second_db=-60.0)
    seconds = 1000
    carrier = np.ones(seconds * BASEBAND_RATE_HZ)
    envelope = np.abs(faded(carrier, fading, 3))[:: BASEBAND_RATE_HZ // 4]
    sigma = np.sqrt(1 / (1 + ratio) / 2)
    rice = stats.rice(b=np.sqrt(ratio / (1 + ratio)) / sigma, scale=sigma)
    assert stats.kstest(envelope, rice.cdf).pvalue > 0.001
    # The test has statistical power: the same samples fail as Rayleigh distributed.
    assert stats.kstest(envelope, stats.rayleigh(scale=np.sqrt(0.5)).cdf).pvalue < 1e-6


@pytest.mark.parametrize(
    "spread_hz", [pytest.param(0.1, marks=pytest.mark.slow), 0.5, 1.0, 10.0, 30.0, 100.0]
)
def test_the_spread_holds_at_the_baseband_rate(spread_hz: float) -> None:
    """Second moment of a faded carrier's Doppler spectrum, for the spread of every preset.

    The length is 400 / B, which makes four standard errors about 10 %.
    """
    fading = Fading(delay_ms=0.0, spread_hz=spread_hz, second_db=-60.0)
    carrier = np.ones(round(400 / spread_hz * BASEBAND_RATE_HZ))
    output = faded(carrier, fading, 9)
    spectrum = np.abs(np.fft.fft(output * np.hanning(len(output)))) ** 2
    frequency = np.fft.fftfreq(len(output), 1 / BASEBAND_RATE_HZ)
    # A Gaussian spectrum has no power there, and leakage would count by the square of its
    # frequency.
    spectrum[np.abs(frequency) > 3 * spread_hz] = 0
    sigma = np.sqrt(np.sum(frequency**2 * spectrum) / np.sum(spectrum))
    assert 2 * sigma == pytest.approx(spread_hz, rel=0.10)
