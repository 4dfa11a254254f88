"""Man-made interference on the frequency: a whistle, a mains buzz, a train of swept pulses.

Each is taken at CORE_RATE_HZ in pieces of any size. Their kinds are generic; the figures that shape
them (unevenness of the buzz, length of a pulse) are common practice, no source.
"""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Buzz, Noise, Pulses, Whistle
from drill.radio import CENTRE_HZ, CORE_RATE_HZ
from drill.radio.fading_taps import Drift
from drill.radio.filters import Complex
from drill.radio.levels import REFERENCE_BANDWIDTH_HZ, power_of

HIGHEST_HZ = 3400.0
TABLE = 1 << 16
UNEVEN = 0.5
UNEVEN_HZ = 8.0
PULSE_S = 0.008
SWEEP_HZ = 2400.0


class Interference(Protocol):
    """Something on the frequency that is no station."""

    def take(self, count: int) -> Complex:
        """Return the next samples, shape (count,)."""
        ...


def interference(
    noise: Noise, density: float, rng: np.random.Generator
) -> tuple[Interference, ...]:
    """Return what the conditions have on the frequency; density: N0 of the noise."""
    generators = rng.spawn(3)
    floor = density * REFERENCE_BANDWIDTH_HZ
    made: list[Interference] = []
    if noise.whistle:
        made.append(Whistling(noise.whistle, floor, generators[0]))
    if noise.buzz:
        made.append(Buzzing(noise.buzz, floor, generators[1]))
    if noise.pulses:
        made.append(Pulsing(noise.pulses, floor, generators[2]))
    return tuple(made)


class _Clock:
    """Counts samples and gives the phase of a frequency in turns, exact over hours."""

    def __init__(self, turns: float = 0.0) -> None:
        self._start = turns
        self._samples = 0

    def turns(self, frequency_hz: float, count: int) -> NDArray[np.float64]:
        at = np.arange(self._samples, self._samples + count, dtype=np.float64)
        self._samples += count
        return np.asarray((at * (frequency_hz / CORE_RATE_HZ) + self._start) % 1.0)


class Whistling:
    """A steady carrier. floor: power of the noise in 3 kHz, to which its level refers."""

    def __init__(self, whistle: Whistle, floor: float, rng: np.random.Generator) -> None:
        """Start it at a random phase."""
        self._amplitude = np.sqrt(2 * floor * power_of(whistle.snr_db))
        self._offset_hz = whistle.pitch_hz - CENTRE_HZ
        self._clock = _Clock(float(rng.random()))

    def take(self, count: int) -> Complex:
        """Return the next samples, shape (count,)."""
        turns = self._clock.turns(self._offset_hz, count)
        return np.asarray(self._amplitude * np.exp(2j * np.pi * turns), np.complex64)


class Buzzing:
    """All harmonics of twice the mains frequency, equally strong, swelling unevenly."""

    def __init__(self, buzz: Buzz, floor: float, rng: np.random.Generator) -> None:
        """Draw the phases of the harmonics."""
        self._base_hz = 2 * buzz.mains_hz
        count = int(HIGHEST_HZ / self._base_hz)
        spectrum = np.zeros(TABLE, np.complex128)
        spectrum[1 : count + 1] = np.exp(2j * np.pi * rng.random(count))
        power = floor * power_of(buzz.snr_db) / (1 + UNEVEN**2)
        self._turn = np.fft.ifft(spectrum) * TABLE * np.sqrt(2 * power / count)
        self._uneven = Drift(UNEVEN_HZ, CORE_RATE_HZ, rng)
        self._clock, self._centre = _Clock(), _Clock()

    def take(self, count: int) -> Complex:
        """Return the next samples, shape (count,)."""
        at = (self._clock.turns(self._base_hz, count) * TABLE).astype(np.int64) % TABLE
        centred = np.exp(-2j * np.pi * self._centre.turns(CENTRE_HZ, count))
        swell = 1 + UNEVEN * np.sqrt(2) * self._uneven.take(count).real
        return np.asarray(self._turn[at] * centred * swell, np.complex64)


class Pulsing:
    """Pulses of 8 ms or a quarter of the period, each sweeping up through the voice channel."""

    def __init__(self, pulses: Pulses, floor: float, rng: np.random.Generator) -> None:
        """Start it at a random point of the period."""
        self._rate_hz = pulses.rate_hz
        self._length_s = min(PULSE_S, 0.25 / pulses.rate_hz)
        # A raised cosine has a mean square of 3/8 over its length.
        mean = 3 / 8 * self._length_s * self._rate_hz
        self._amplitude = np.sqrt(2 * floor * power_of(pulses.snr_db) / mean)
        self._clock = _Clock(float(rng.random()))

    def take(self, count: int) -> Complex:
        """Return the next samples, shape (count,)."""
        since_s = self._clock.turns(self._rate_hz, count) / self._rate_hz
        result = np.zeros(count, np.complex64)
        inside = since_s < self._length_s
        at = since_s[inside] - self._length_s / 2
        window = 0.5 + 0.5 * np.cos(2 * np.pi * at / self._length_s)
        sweep = np.exp(1j * np.pi * SWEEP_HZ / self._length_s * at**2)
        result[inside] = self._amplitude * window * sweep
        return result
