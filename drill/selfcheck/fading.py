"""Checks of fading: statistics of a tap, and the delay of the second path."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Fading
from drill.core.random_streams import random_stream
from drill.radio import BASEBAND_RATE_HZ
from drill.radio.fading import WattersonFading
from drill.radio.fading_taps import FadingTap
from drill.radio.levels import decibels
from drill.selfcheck.figures import CheckedFigure
from drill.selfcheck.signals import CHECK_SEED

TAP_RATE_HZ = 64
TAP_SECONDS = 20_000


def check_tap() -> Iterator[CheckedFigure]:
    """Measure the statistics of a fading tap over 20,000 s at a spread of 1 Hz."""
    from scipy import stats

    tap = FadingTap(1.0, TAP_RATE_HZ, random_stream(CHECK_SEED, "check"))
    gain = tap.take(TAP_RATE_HZ * TAP_SECONDS).astype(np.complex128)
    power = np.abs(gain) ** 2
    spectrum = np.abs(np.fft.fft(gain)) ** 2
    frequency = np.fft.fftfreq(len(gain), 1 / TAP_RATE_HZ)
    sigma = float(np.sqrt(np.sum(frequency**2 * spectrum) / np.sum(spectrum)))
    yield CheckedFigure(
        quantity="Doppler spread, two sigma, at 1 Hz",
        value=2 * sigma,
        low=0.95,
        high=1.05,
        unit="Hz",
        source="ITU-R F.1487, Annex 1",
    )
    yield CheckedFigure(
        quantity="mean power of a tap",
        value=decibels(float(np.mean(power))),
        low=-0.13,
        high=0.13,
        unit="dB",
        source="ITU-R F.1487, Annex 1",
    )
    independent = np.sqrt(power[::TAP_RATE_HZ])
    rayleigh = stats.rayleigh(scale=np.sqrt(0.5))
    yield CheckedFigure(
        quantity="Rayleigh amplitude, p of the Kolmogorov-Smirnov test",
        value=float(stats.kstest(independent, rayleigh.cdf).pvalue),
        low=0.001,
        high=1,
        unit="",
        source="Rayleigh distribution",
    )
    for level_db in (0, -3, -10):
        yield from _fade_figures(np.sqrt(power), level_db)


def _fade_figures(envelope: NDArray[np.float64], level_db: float) -> Iterator[CheckedFigure]:
    """Measure crossing rate and mean fade duration at a level, relative to closed forms."""
    rho = 10 ** (level_db / 20)
    above = envelope >= rho
    rate = float(np.count_nonzero(~above[:-1] & above[1:])) / TAP_SECONDS
    expected_rate = float(np.sqrt(np.pi) * rho * np.exp(-(rho**2)))
    yield CheckedFigure(
        quantity=f"level crossing rate at {level_db:g} dB, relative to Rice",
        value=rate / expected_rate,
        low=0.95,
        high=1.05,
        unit="",
        source="S. O. Rice 1945: sqrt(pi) B r exp(-r^2)",
    )
    duration_s = float(np.mean(~above)) / rate
    expected_s = float((np.exp(rho**2) - 1) / (np.sqrt(np.pi) * rho))
    yield CheckedFigure(
        quantity=f"mean fade duration at {level_db:g} dB, relative to theory",
        value=duration_s / expected_s,
        low=0.94,
        high=1.06,
        unit="",
        source="(exp(r^2) - 1) / (sqrt(pi) B r)",
    )


def check_delay() -> Iterator[CheckedFigure]:
    """Measure the differential delay in the impulse response."""
    for delay_ms in (0.5, 1.3, 2.0, 7.0):
        yield CheckedFigure(
            quantity=f"second path, delay of {delay_ms:g} ms",
            value=second_path_delay_ms(delay_ms),
            low=delay_ms - 0.02,
            high=delay_ms + 0.02,
            unit="ms",
            source="ITU-R F.1487, table",
        )


def second_path_delay_ms(delay_ms: float) -> float:
    """Return the delay at which the second path appears in the impulse response."""
    size, start = 1024, 200
    impulse = np.zeros(size, np.complex64)
    impulse[start] = 1
    fading = Fading(delay_ms=delay_ms, spread_hz=0.0)
    paths = WattersonFading(fading, random_stream(CHECK_SEED, "check"))
    response = np.concatenate([paths.process(impulse), paths.finish()])
    response[start] = 0  # the first path
    interpolated = np.fft.ifft(np.pad(np.fft.fftshift(np.fft.fft(response)), 16 * size))
    peak = float(np.argmax(np.abs(interpolated))) * size / len(interpolated)
    return (peak - start) / BASEBAND_RATE_HZ * 1000
