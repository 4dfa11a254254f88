"""Interference other than voices: a carrier, a mains buzz, a train of swept pulses.

Each source delivers complex baseband at BASEBAND_RATE_HZ. The types are generic; the constants that
shape them (depth of the buzz's swell, length of a pulse) are common practice, no source.
"""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Buzz, Noise, Pulses, Whistle
from drill.radio import BASEBAND_RATE_HZ, CENTRE_HZ
from drill.radio.fading_taps import FadingTap
from drill.radio.filters import ComplexArray
from drill.radio.levels import REFERENCE_BANDWIDTH_HZ, power_from_db

BUZZ_HIGHEST_HZ = 3400.0
BUZZ_PERIOD_SAMPLES = 1 << 16
BUZZ_SWELL_DEPTH = 0.5
BUZZ_SWELL_SPREAD_HZ = 8.0
PULSE_LENGTH_S = 0.008
PULSE_SWEEP_HZ = 2400.0


class InterferenceSource(Protocol):
    """A signal on the frequency that does not come from a station."""

    def take(self, count: int) -> ComplexArray:
        """Return the next samples, shape (count,)."""
        ...


def interference_sources(
    noise: Noise, density: float, rng: np.random.Generator
) -> tuple[InterferenceSource, ...]:
    """Return a source for each kind of interference in the conditions.

    density: N0 of the band noise, to which the levels refer.
    """
    whistle_rng, buzz_rng, pulse_rng = rng.spawn(3)
    floor = density * REFERENCE_BANDWIDTH_HZ
    sources: list[InterferenceSource] = []
    if noise.whistle:
        sources.append(WhistleSource(noise.whistle, floor, whistle_rng))
    if noise.buzz:
        sources.append(BuzzSource(noise.buzz, floor, buzz_rng))
    if noise.pulses:
        sources.append(PulseSource(noise.pulses, floor, pulse_rng))
    return tuple(sources)


class _PhaseCounter:
    """Phase of a frequency in cycles; it stays exact over hours."""

    def __init__(self, start_cycles: float = 0.0) -> None:
        self._start_cycles = start_cycles
        self._samples = 0

    def take(self, frequency_hz: float, count: int) -> NDArray[np.float64]:
        """Return the phase of the next samples, shape (count,), 0 to 1 cycle."""
        index = np.arange(self._samples, self._samples + count, dtype=np.float64)
        self._samples += count
        return np.asarray((index * (frequency_hz / BASEBAND_RATE_HZ) + self._start_cycles) % 1.0)


class WhistleSource:
    """A steady carrier.

    floor: power of the band noise in 3 kHz, to which the carrier's level refers.
    """

    def __init__(self, whistle: Whistle, floor: float, rng: np.random.Generator) -> None:
        """Start the carrier at a random phase."""
        self._amplitude = np.sqrt(2 * floor * power_from_db(whistle.snr_db))
        self._offset_hz = whistle.pitch_hz - CENTRE_HZ
        self._phase = _PhaseCounter(float(rng.random()))

    def take(self, count: int) -> ComplexArray:
        """Return the next samples, shape (count,)."""
        cycles = self._phase.take(self._offset_hz, count)
        return np.asarray(self._amplitude * np.exp(2j * np.pi * cycles), np.complex64)


class BuzzSource:
    """All harmonics of twice the mains frequency, equally strong, with an irregular swell.

    floor: power of the band noise in 3 kHz, to which the level of the buzz refers.
    """

    def __init__(self, buzz: Buzz, floor: float, rng: np.random.Generator) -> None:
        """Draw the phases of the harmonics and compute one period."""
        self._base_hz = 2 * buzz.mains_hz
        count = int(BUZZ_HIGHEST_HZ / self._base_hz)
        spectrum = np.zeros(BUZZ_PERIOD_SAMPLES, np.complex128)
        spectrum[1 : count + 1] = np.exp(2j * np.pi * rng.random(count))
        power = floor * power_from_db(buzz.snr_db) / (1 + BUZZ_SWELL_DEPTH**2)
        self._period = np.fft.ifft(spectrum) * BUZZ_PERIOD_SAMPLES * np.sqrt(2 * power / count)
        self._swell = FadingTap(BUZZ_SWELL_SPREAD_HZ, BASEBAND_RATE_HZ, rng)
        self._phase, self._centre_phase = _PhaseCounter(), _PhaseCounter()

    def take(self, count: int) -> ComplexArray:
        """Return the next samples, shape (count,)."""
        cycles = self._phase.take(self._base_hz, count)
        index = (cycles * BUZZ_PERIOD_SAMPLES).astype(np.int64) % BUZZ_PERIOD_SAMPLES
        to_baseband = np.exp(-2j * np.pi * self._centre_phase.take(CENTRE_HZ, count))
        swell = 1 + BUZZ_SWELL_DEPTH * np.sqrt(2) * self._swell.take(count).real
        return np.asarray(self._period[index] * to_baseband * swell, np.complex64)


class PulseSource:
    """A train of pulses that sweep upward through the voice channel.

    A pulse lasts PULSE_LENGTH_S or a quarter of the period, whichever is shorter. floor: power of
    the band noise in 3 kHz, to which the mean level of the train refers.
    """

    def __init__(self, pulses: Pulses, floor: float, rng: np.random.Generator) -> None:
        """Start the train at a random point of its period."""
        self._rate_hz = pulses.rate_hz
        self._length_s = min(PULSE_LENGTH_S, 0.25 / pulses.rate_hz)
        # A raised cosine has a mean square of 3/8 over its length.
        mean_square = 3 / 8 * self._length_s * self._rate_hz
        self._amplitude = np.sqrt(2 * floor * power_from_db(pulses.snr_db) / mean_square)
        self._phase = _PhaseCounter(float(rng.random()))

    def take(self, count: int) -> ComplexArray:
        """Return the next samples, shape (count,)."""
        since_start_s = self._phase.take(self._rate_hz, count) / self._rate_hz
        samples = np.zeros(count, np.complex64)
        inside = since_start_s < self._length_s
        time = since_start_s[inside] - self._length_s / 2
        window = 0.5 + 0.5 * np.cos(2 * np.pi * time / self._length_s)
        sweep = np.exp(1j * np.pi * PULSE_SWEEP_HZ / self._length_s * time**2)
        samples[inside] = self._amplitude * window * sweep
        return samples
