"""The one filter of the radio path: band-pass, change of rate and shift in one block transform.

A signal is cut into blocks that overlap (overlap-save). Each is transformed, the bins of the
passband are copied to their new place, times the filter's response, and transformed back at the
new rate. So the same pass limits the band, makes the analytic signal, changes the rate, and tunes;
there is no Hilbert transformer with edges of its own. Blocks lie on a fixed grid from the first
sample, so that a stream in pieces of any size gives what the whole gives.

The response is that of a linear-phase FIR filter by Kaiser's window, delay removed.

Source: A. Oppenheim, R. Schafer, Discrete-Time Signal Processing, sections on overlap-save and on
the Kaiser window.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.radio import RADIO_RATE_HZ

BLOCK_S = 0.160
HOP_S = 0.120
MARGIN_S = (BLOCK_S - HOP_S) / 2
"""What a block knows of its neighbours on either side: half the longest filter."""
BIN_HZ = 1 / BLOCK_S
TUNING_STEP_HZ = 25.0
"""Shifts by bins that stay in phase from block to block: whole turns in a hop."""
RATE_STEP_HZ = 50
"""Rates at which block, hop and margin are whole samples are multiples of this."""
ROWS = 32
"""Blocks in one batch of transforms: 4 s of sound, which stays in the processor's cache."""
STOP_BAND_DB = 75.0

Reals = NDArray[np.float64]
Complex = NDArray[np.complex64]
Signal = NDArray[Any]
"""float32 or complex64, as the stage has it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Passband:
    """Edges at half amplitude (-6 dB) and width of the skirts around them, in Hz."""

    low_hz: float
    high_hz: float
    skirt_hz: float = 150.0


@lru_cache(maxsize=64)
def response(band: Passband) -> tuple[int, Reals]:
    """Return the filter as the number of its first bin and its gain in each bin from there.

    Gain 1 inside, skirt_hz wide edges, STOP_BAND_DB outside; nothing beyond the skirts.

    Raises: ValueError where the skirts overlap or are too steep for the block.
    """
    from scipy.signal import firwin, kaiserord

    half_width = (band.high_hz - band.low_hz) / 2
    if not half_width > band.skirt_hz / 2:
        raise ValueError(f"passband {band.low_hz:g} to {band.high_hz:g} Hz is too narrow")
    count, beta = kaiserord(STOP_BAND_DB, band.skirt_hz / (RADIO_RATE_HZ / 2))
    count |= 1  # an odd length has its delay on a whole sample
    if count > 2 * MARGIN_S * RADIO_RATE_HZ:
        raise ValueError(f"skirts of {band.skirt_hz:g} Hz are too steep; the least is 120 Hz")
    taps = firwin(count, half_width, window=("kaiser", beta), fs=RADIO_RATE_HZ)
    first = int(np.ceil((band.low_hz - band.skirt_hz) / BIN_HZ))
    last = int(np.floor((band.high_hz + band.skirt_hz) / BIN_HZ))
    offset_hz = np.arange(first, last + 1) * BIN_HZ - (band.high_hz + band.low_hz) / 2
    time = (np.arange(count) - count // 2) / RADIO_RATE_HZ
    gain = np.cos(2 * np.pi * np.outer(offset_hz, time)) @ taps
    gain.flags.writeable = False
    return first, gain


def noise_bandwidth_hz(band: Passband) -> float:
    """Return the equivalent noise bandwidth: width of a box of gain 1 that passes as much noise."""
    return float(np.sum(response(band)[1] ** 2) * BIN_HZ)


class BandFilter:
    """A band-pass filter with change of rate and shift; takes a stream in pieces.

    band: in audio frequencies of the output. rate_in, rate_out: samples a second, multiples of
    RATE_STEP_HZ. centre_in, centre_out: audio frequency at the centre of a complex signal; None
    marks a real one. A real input comes out as its analytic signal (twice the positive half), a
    real output is the real part of what is inside. shift_hz: what is added to every frequency, a
    multiple of TUNING_STEP_HZ. weight: gain over audio frequency of the input, array to array, slow
    in frequency, since its response in time has to fit into the block's margin.

    Raises: ValueError where a rate, centre or shift does not fit the blocks.
    """

    def __init__(
        self,
        band: Passband,
        *,
        rate_in: int,
        rate_out: int,
        centre_in: float | None = None,
        centre_out: float | None = None,
        shift_hz: float = 0.0,
        weight: Callable[[Reals], Reals] | None = None,
    ) -> None:
        """Design it and start with silence before the first sample."""
        if rate_in % RATE_STEP_HZ or rate_out % RATE_STEP_HZ:
            raise ValueError(f"rates {rate_in} and {rate_out} must be multiples of {RATE_STEP_HZ}")
        for tuned in (shift_hz, (centre_in or 0) - (centre_out or 0)):
            if centre_in is not None and tuned % TUNING_STEP_HZ:
                raise ValueError(f"{tuned:g} Hz is no multiple of {TUNING_STEP_HZ:g} Hz")
        self._rate_in, self._rate_out = rate_in, rate_out
        self._real_in, self._real_out = centre_in is None, centre_out is None
        self._size_in, self._size_out = round(BLOCK_S * rate_in), round(BLOCK_S * rate_out)
        self.hop_in, self._hop_out = round(HOP_S * rate_in), round(HOP_S * rate_out)
        self._margin_in, self._margin_out = round(MARGIN_S * rate_in), round(MARGIN_S * rate_out)
        first, curve = response(band)
        bins = np.arange(first, first + len(curve))
        source = bins - round(((centre_in or 0.0) + shift_hz) / BIN_HZ)
        target = bins - round((centre_out or 0.0) / BIN_HZ)
        kept = (source > 0 if self._real_in else abs(source) < self._size_in / 2) & (
            abs(source) < self._size_in / 2
        )
        kept &= (target > 0 if self._real_out else True) & (abs(target) < self._size_out / 2)
        scale = self._size_out / self._size_in
        scale *= (2 if self._real_in else 1) * (0.5 if self._real_out else 1)
        scale *= (-1) ** round(shift_hz / TUNING_STEP_HZ)  # half turns over the margin
        if weight is not None:
            curve = curve * weight(np.asarray(bins * BIN_HZ - shift_hz))
        self._moves = _moves(source[kept], self._size_in, target[kept], self._size_out)
        # Real pairs, since NumPy multiplies those in half the time of real by complex.
        self._curve = np.repeat((curve[kept] * scale).astype(np.float32), 2)
        self.reset()

    def reset(self) -> None:
        """Forget what came before."""
        dtype = np.float32 if self._real_in else np.complex64
        self._waiting: Signal = np.zeros(self._margin_in, dtype)
        self._taken = self._given = 0

    def process(self, signal: Signal) -> Signal:
        """Return what can be told so far for more input, shape (n,); a whole number of hops."""
        self._taken += len(signal)
        waiting = np.concatenate([self._waiting, signal])
        count = max(0, (len(waiting) - self._size_in) // self.hop_in + 1)
        parts = [
            self._blocks(waiting[first * self.hop_in :], min(ROWS, count - first))
            for first in range(0, count, ROWS)
        ]
        self._waiting = waiting[count * self.hop_in :]
        result = parts[0] if len(parts) == 1 else np.concatenate([self._empty(), *parts])
        self._given += len(result)
        return result

    def finish(self) -> Signal:
        """Return the rest, silence taken to follow; in all as long as the input was."""
        wanted = round(self._taken * self._rate_out / self._rate_in) - self._given
        hops = -(-wanted // self._hop_out)
        missing = max(0, (hops - 1) * self.hop_in + self._size_in - len(self._waiting))
        result = self.process(np.zeros(missing, self._waiting.dtype))[:wanted]
        self.reset()
        return result

    def _empty(self) -> Signal:
        return np.zeros(0, np.float32 if self._real_out else np.complex64)

    def _blocks(self, waiting: Signal, rows: int) -> Signal:
        """Filter the next blocks in one batch of transforms."""
        from scipy import fft

        step = waiting.itemsize
        blocks: Signal = np.ndarray(
            (rows, self._size_in),
            waiting.dtype,
            buffer=waiting,
            strides=(self.hop_in * step, step),
        )
        spectrum = (fft.rfft if self._real_in else fft.fft)(blocks)
        width = self._size_out // 2 + 1 if self._real_out else self._size_out
        moved = np.zeros((rows, width), np.complex64)
        pairs, places = spectrum.view(np.float32), moved.view(np.float32)
        for before, after, at, length in self._moves:
            np.multiply(
                pairs[:, before : before + length],
                self._curve[at : at + length],
                out=places[:, after : after + length],
            )
        sound: Signal = (
            fft.irfft(moved, self._size_out, overwrite_x=True)
            if self._real_out
            else fft.ifft(moved, overwrite_x=True)
        )
        kept = sound[:, self._margin_out : self._margin_out + self._hop_out]
        return np.ascontiguousarray(kept).reshape(-1)


def _moves(
    source: NDArray[np.int_], size_in: int, target: NDArray[np.int_], size_out: int
) -> list[tuple[int, int, int, int]]:
    """Return runs of bins that stay side by side: place before, after, in the curve, and length.

    Bin numbers may be negative, and are wrapped; all in real numbers, two a bin.
    """
    cuts = {0, len(source), int(np.count_nonzero(source < 0)), int(np.count_nonzero(target < 0))}
    edges = sorted(cuts)
    return [
        (2 * int(source[a] % size_in), 2 * int(target[a] % size_out), 2 * a, 2 * (b - a))
        for a, b in pairwise(edges)
    ]


def whole(stage: BandFilter, signal: Signal) -> Signal:
    """Return a whole signal, shape (n,), through a filter that has taken nothing yet."""
    piece = ROWS * stage.hop_in
    parts = [stage.process(signal[at : at + piece]) for at in range(0, len(signal), piece)]
    return np.concatenate([*parts, stage.finish()])
