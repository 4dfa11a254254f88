"""Automatic gain control, for the receiver's AGC and for the transmitter's ALC and compressor.

The level is the peak of each 4 ms block, held for a while and then falling at a constant rate in
dB. The gain is a function of that level, interpolated linearly between blocks. The signal is
delayed by one block relative to the gain (look-ahead), so the attack takes 4 ms and the gain is
already down when a peak arrives. All steps are array operations: the hold is a sliding maximum, and
the decay is a running maximum of the level plus the decay so far.

The times are engineering choices: common practice, no source.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import FloatArray, sliding_maximum
from drill.radio.filters import SignalArray

CONTROL_BLOCK_S = 0.004
LEVEL_FLOOR_DB = -200.0

GainLaw = Callable[[NDArray[np.float64]], NDArray[np.float64]]
"""Gain in dB as a function of level in dB (20 lg of the peak), array to array."""


@dataclass(frozen=True, kw_only=True, slots=True)
class GainTiming:
    """How long a peak holds the gain down, and the rate at which the level then decays."""

    hold_s: float
    decay_db_per_s: float


class PeakFollower:
    """Level that jumps up to each peak, holds it, and then falls at a constant rate in dB.

    start_db: level before the first block.
    """

    def __init__(self, timing: GainTiming, start_db: float = LEVEL_FLOOR_DB) -> None:
        """Start with silence before the first block."""
        self._decay_db = timing.decay_db_per_s * CONTROL_BLOCK_S
        self._recent_db = np.full(max(1, round(timing.hold_s / CONTROL_BLOCK_S)), LEVEL_FLOOR_DB)
        self._level_db = start_db

    def follow(self, peaks: NDArray[np.floating]) -> FloatArray:
        """Return the level in dB, shape (n,), after each block of CONTROL_BLOCK_S.

        peaks: highest magnitude in each block, shape (n,).
        """
        peaks_db = 20 * np.log10(np.maximum(peaks, 1e-10)).astype(np.float64)
        known_db = np.concatenate([self._recent_db, peaks_db])
        width = len(self._recent_db) + 1
        held_db = sliding_maximum(known_db, width)[width - 1 :]
        self._recent_db = known_db[-(width - 1) :]
        decay_db = self._decay_db * np.arange(1, len(peaks_db) + 1)
        level_db = np.maximum(np.maximum.accumulate(held_db + decay_db), self._level_db) - decay_db
        self._level_db = float(level_db[-1])
        return np.asarray(level_db, np.float64)


class GainControl:
    """Level-controlled gain for a real or complex signal in chunks of any size.

    law: gain as a function of level. rate_hz: sampling rate, a multiple of 250. start_db: level
    that sets the gain before the first sample.
    """

    def __init__(
        self, law: GainLaw, timing: GainTiming, rate_hz: int, start_db: float = LEVEL_FLOOR_DB
    ) -> None:
        """Start at the gain of start_db, with silence before the first sample."""
        self._law = law
        self._block = round(CONTROL_BLOCK_S * rate_hz)
        self._follower = PeakFollower(timing, start_db)
        self._gain = float(10 ** (law(np.array([start_db]))[0] / 20))
        self._ramp = (np.arange(self._block) / self._block).astype(np.float32)
        self._waiting: SignalArray | None = None

    def process(self, signal: SignalArray) -> SignalArray:
        """Apply the gain to the next chunk; its last 4 to 8 ms come with the following one."""
        if self._waiting is None:
            self._waiting = signal[:0]
            self._delayed = np.zeros(self._block, signal.dtype)
            self._skip = len(self._delayed)
        waiting = np.concatenate([self._waiting, signal])
        count = len(waiting) // self._block * self._block
        self._waiting = waiting[count:]
        if not count:
            return signal[:0]
        gain = self._gain_curve(block_peaks(waiting[:count], self._block))
        delayed = np.concatenate([self._delayed, waiting[:count]])
        self._delayed = delayed[count:]
        output: SignalArray = delayed[:count].reshape(-1, self._block)
        output = output * gain if np.iscomplexobj(output) else np.multiply(output, gain, out=gain)
        skip = min(self._skip, count)
        self._skip -= skip
        return np.asarray(output.reshape(-1)[skip:])

    def finish(self) -> SignalArray:
        """Return the remaining output; the total is as long as the input."""
        if self._waiting is None:
            return np.zeros(0, np.float32)
        remaining = len(self._waiting) + len(self._delayed) - self._skip
        silence = np.zeros(len(self._delayed) + self._block, self._waiting.dtype)
        return self.process(silence)[:remaining]

    def _gain_curve(self, peaks: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return the gain of every sample, shape (blocks, samples per block)."""
        level_db = self._follower.follow(peaks)
        gain = np.append(self._gain, 10 ** (self._law(level_db) / 20)).astype(np.float32)
        self._gain = float(gain[-1])
        curve = np.diff(gain)[:, None] * self._ramp
        curve += gain[:-1, None]
        return curve


def block_peaks(signal: SignalArray, block: int) -> NDArray[np.float32]:
    """Return the highest magnitude in each block of this many samples."""
    magnitude = np.abs(signal)
    # Halving pairs is several times faster than a maximum along rows.
    while block % 2 == 0:
        magnitude = np.maximum(magnitude[0::2], magnitude[1::2])
        block //= 2
    return np.asarray(magnitude.reshape(-1, block).max(axis=1)) if block > 1 else magnitude
