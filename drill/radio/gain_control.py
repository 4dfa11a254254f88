"""Gain that follows the level: the receiver's AGC and the transmitter's compressor.

The level is the peak in blocks of 4 ms, held for a while, then falling at a steady rate; the gain
is a law of that level, joined by lines. The signal is delayed by one block against the gain: so the
attack takes 4 ms, and the gain is down when the peak arrives. All of it is array arithmetic: a hold
is a sliding maximum, a steady fall is a running maximum of the level with the fall added.

The times are engineering choices; common practice, no source.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.radio.filters import Signal

BLOCK_S = 0.004
FLOOR_DB = -200.0

Law = Callable[[NDArray[np.float64]], NDArray[np.float64]]


@dataclass(frozen=True, kw_only=True, slots=True)
class Pace:
    """hold_s: how long a peak rules. fall_db_s: how quickly the level that rules falls after it."""

    hold_s: float
    fall_db_s: float


class Follower:
    """Applies the gain to a signal in pieces of any size, real or complex.

    law: gain in dB for levels in dB (20 lg of the peak), array to array. start_db: the level that
    rules before the first sample. rate_hz: a multiple of 250.
    """

    def __init__(self, law: Law, pace: Pace, rate_hz: int, start_db: float = FLOOR_DB) -> None:
        """Start with silence before the first sample."""
        self._law = law
        self._block = round(BLOCK_S * rate_hz)
        self._fall = pace.fall_db_s * BLOCK_S
        self._held = np.full(max(1, round(pace.hold_s / BLOCK_S)), FLOOR_DB)
        self._ruling = start_db
        self._gain = float(10 ** (law(np.array([start_db]))[0] / 20))
        self._ramp = (np.arange(self._block) / self._block).astype(np.float32)
        self._waiting: Signal | None = None
        self._ahead = 0

    def process(self, signal: Signal) -> Signal:
        """Return the signal with its gain, all but the last 4 to 8 ms of what was given."""
        if self._waiting is None:
            self._waiting = signal[:0]
            self._late = np.zeros(self._block, signal.dtype)
            self._skip = len(self._late)
        waiting = np.concatenate([self._waiting, signal])
        whole = len(waiting) // self._block * self._block
        self._waiting = waiting[whole:]
        if not whole:
            return signal[:0]
        gain = self._gains(_peaks(waiting[:whole], self._block))
        late = np.concatenate([self._late, waiting[:whole]])
        self._late = late[whole:]
        result: Signal = late[:whole].reshape(-1, self._block)
        result = result * gain if np.iscomplexobj(result) else np.multiply(result, gain, out=gain)
        skip = min(self._skip, whole)
        self._skip -= skip
        return np.asarray(result.reshape(-1)[skip:])

    def finish(self) -> Signal:
        """Return the rest; in all as long as the input was."""
        if self._waiting is None:
            return np.zeros(0, np.float32)
        left = len(self._waiting) + len(self._late) - self._skip
        silence = np.zeros(len(self._late) + self._block, self._waiting.dtype)
        return self.process(silence)[:left]

    def _gains(self, peaks: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return the gain at every sample, shape (blocks, samples in a block)."""
        from scipy.ndimage import maximum_filter1d

        level = np.maximum(20 * np.log10(np.maximum(peaks, 1e-10)), FLOOR_DB).astype(np.float64)
        known = np.concatenate([self._held, level])
        reach = len(self._held) + 1
        # maximum_filter1d is centred; this origin makes it look back.
        held = maximum_filter1d(known, reach, origin=(reach - 1) // 2)[reach - 1 :]
        self._held = known[-(reach - 1) :]
        falls = self._fall * np.arange(1, len(level) + 1)
        ruling = np.maximum(np.maximum.accumulate(held + falls), self._ruling) - falls
        self._ruling = float(ruling[-1])
        gain = np.append(self._gain, 10 ** (self._law(ruling) / 20)).astype(np.float32)
        self._gain = float(gain[-1])
        lines = np.diff(gain)[:, None] * self._ramp
        lines += gain[:-1, None]
        return lines


def _peaks(signal: Signal, block: int) -> NDArray[np.float32]:
    """Return the peak in each block; halving pairs is several times quicker than max along rows."""
    size = np.abs(signal)
    while block % 2 == 0:
        size = np.maximum(size[0::2], size[1::2])
        block //= 2
    return np.asarray(size.reshape(-1, block).max(axis=1)) if block > 1 else size
