"""Block filter of the channel: band-pass, rate conversion and frequency shift in one transform.

The signal is cut into overlapping blocks (overlap-save). Each block is transformed; the bins of the
passband are multiplied by the filter's response and copied to their new frequency; the result is
transformed back at the output rate. One pass thus limits the band, forms the analytic signal,
converts the rate and tunes. Blocks lie on a fixed grid from the first sample, so a stream gives the
same output whatever the size of its chunks.

The response is that of a linear-phase Kaiser-window FIR filter with its delay removed.

Source: A. Oppenheim, R. Schafer, Discrete-Time Signal Processing, sections on overlap-save and on
the Kaiser window.

The transforms are numpy.fft's, because scipy.fft would take a quarter of a cold start to import.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.radio import AUDIO_RATE_HZ
from drill.radio.filter_design import kaiser_low_pass

FFT_BLOCK_S = 0.160
FFT_HOP_S = 0.120
TUNING_STEP_HZ = 25.0
"""The tuning step of the usual grid of blocks."""
RATE_STEP_HZ = 50
"""At multiples of this rate, the usual block, hop and margin are whole numbers of samples."""
BATCH_BLOCKS = 32
"""Blocks transformed together: about 4 s of signal, which fits into the processor's cache."""
STOP_BAND_DB = 75.0

RealArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex64]
SignalArray = NDArray[Any]
"""Samples as float32 (audio) or complex64 (baseband)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Passband:
    """A passband in Hz: its edges at half amplitude (-6 dB) and the width of each transition."""

    low_hz: float
    high_hz: float
    transition_hz: float = 150.0


@dataclass(frozen=True, kw_only=True, slots=True)
class BlockGrid:
    """The blocks into which a stream is cut: their length, and the time from one to the next.

    Both are multiples of twice the margin. Short blocks delay the sound less and cost more.
    """

    block_s: float = FFT_BLOCK_S
    hop_s: float = FFT_HOP_S

    @property
    def margin_s(self) -> float:
        """Overlap at each end of a block: half the length of the longest filter."""
        return (self.block_s - self.hop_s) / 2

    @property
    def bin_hz(self) -> float:
        """Distance of the frequencies of a block's transform."""
        return 1 / self.block_s

    @property
    def tuning_step_hz(self) -> float:
        """Shifts are multiples of this: whole bins and cycles per hop, so blocks stay in phase."""
        return round(0.5 / self.margin_s, 6)

    def fits(self, rate_hz: int) -> bool:
        """Return whether blocks, hops and margins are whole numbers of samples at this rate."""
        margin = self.margin_s * rate_hz
        return abs(margin - round(margin)) < 1e-9


USUAL_GRID = BlockGrid()


@lru_cache(maxsize=64)
def filter_response(band: Passband, grid: BlockGrid = USUAL_GRID) -> tuple[int, RealArray]:
    """Return the number of the filter's first FFT bin and its gain in each bin from there on.

    The gain is 1 in the passband and falls by STOP_BAND_DB over a transition; bins beyond the
    transitions are left out.

    Raises: ValueError if the transitions overlap, or are too narrow for the block length.
    """
    half_width = (band.high_hz - band.low_hz) / 2
    if not half_width > band.transition_hz / 2:
        raise ValueError(f"passband {band.low_hz:g} to {band.high_hz:g} Hz is too narrow")
    taps = kaiser_low_pass(half_width, band.transition_hz, AUDIO_RATE_HZ, stop_band_db=STOP_BAND_DB)
    count = len(taps)
    if count > 2 * grid.margin_s * AUDIO_RATE_HZ:
        raise ValueError(
            f"a transition of {band.transition_hz:g} Hz is too narrow; "
            f"use {120 * USUAL_GRID.margin_s / grid.margin_s:g} Hz or more"
        )
    first = int(np.ceil((band.low_hz - band.transition_hz) / grid.bin_hz))
    last = int(np.floor((band.high_hz + band.transition_hz) / grid.bin_hz))
    offset_hz = np.arange(first, last + 1) * grid.bin_hz - (band.high_hz + band.low_hz) / 2
    time = (np.arange(count) - count // 2) / AUDIO_RATE_HZ
    gain = np.cos(2 * np.pi * np.outer(offset_hz, time)) @ taps
    gain.flags.writeable = False
    return first, gain


def noise_bandwidth_hz(band: Passband) -> float:
    """Return the equivalent noise bandwidth.

    It is the width of a rectangular filter of gain 1 that passes the same noise power.
    """
    return float(np.sum(filter_response(band)[1] ** 2) * USUAL_GRID.bin_hz)


class BandFilter:
    """A band-pass filter with rate conversion and frequency shift, for a stream in chunks.

    band: in audio frequencies of the output. rate_in, rate_out: sampling rates in Hz that fit the
    grid. centre_in, centre_out: audio frequency at 0 Hz of a complex signal; None for a
    real signal. A real input becomes its analytic signal (twice its positive half); a real output
    is the real part of the filtered signal. shift_hz: added to every frequency, a multiple of
    the grid's tuning step. weight: additional gain as a function of the input's audio frequency
    (array to array); it must vary slowly, because its impulse response has to fit into the margin.
    grid: the blocks.

    Raises: ValueError if a rate, centre or shift does not fit the grid of blocks.
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
        weight: Callable[[RealArray], RealArray] | None = None,
        grid: BlockGrid = USUAL_GRID,
    ) -> None:
        """Design the filter; silence precedes the first sample."""
        if not (grid.fits(rate_in) and grid.fits(rate_out)):
            step_hz = 1 / grid.margin_s
            raise ValueError(f"rates {rate_in} and {rate_out} must be multiples of {step_hz:g}")
        for tuning_hz in (shift_hz, (centre_in or 0) - (centre_out or 0)):
            if centre_in is not None and tuning_hz % grid.tuning_step_hz:
                raise ValueError(
                    f"{tuning_hz:g} Hz must be a multiple of {grid.tuning_step_hz:g} Hz"
                )
        self._rate_in, self._rate_out = rate_in, rate_out
        self._real_in, self._real_out = centre_in is None, centre_out is None
        self._size_in, self._size_out = (round(grid.block_s * rate) for rate in (rate_in, rate_out))
        self.hop_in, self._hop_out = (round(grid.hop_s * rate) for rate in (rate_in, rate_out))
        self._margin_in, self._margin_out = (
            round(grid.margin_s * rate) for rate in (rate_in, rate_out)
        )
        input_hz, gain, self._runs = _bin_gains(
            band, (rate_in, rate_out), (centre_in, centre_out), shift_hz, grid
        )
        if weight is not None:
            gain = gain * np.repeat(weight(input_hz), 2).astype(np.float32)
        self._gain = gain
        self._reset()

    def _reset(self) -> None:
        dtype = np.float32 if self._real_in else np.complex64
        self._waiting: SignalArray = np.zeros(self._margin_in, dtype)
        self._samples_in = self._samples_out = 0

    def process(self, signal: SignalArray) -> SignalArray:
        """Filter the next chunk, shape (n,); return the complete hops that are ready."""
        self._samples_in += len(signal)
        waiting = np.concatenate([self._waiting, signal])
        count = max(0, (len(waiting) - self._size_in) // self.hop_in + 1)
        parts = [
            self._filter_blocks(waiting[first * self.hop_in :], min(BATCH_BLOCKS, count - first))
            for first in range(0, count, BATCH_BLOCKS)
        ]
        self._waiting = waiting[count * self.hop_in :]
        output = parts[0] if len(parts) == 1 else np.concatenate([self._empty_output(), *parts])
        self._samples_out += len(output)
        return output

    def finish(self) -> SignalArray:
        """Return the remaining output and reset the filter.

        Silence is assumed to follow; the total output lasts as long as the input.
        """
        wanted = round(self._samples_in * self._rate_out / self._rate_in) - self._samples_out
        hops = -(-wanted // self._hop_out)
        missing = max(0, (hops - 1) * self.hop_in + self._size_in - len(self._waiting))
        output = self.process(np.zeros(missing, self._waiting.dtype))[:wanted]
        self._reset()
        return output

    def _empty_output(self) -> SignalArray:
        return np.zeros(0, np.float32 if self._real_out else np.complex64)

    def _filter_blocks(self, waiting: SignalArray, count: int) -> SignalArray:
        """Filter the next blocks in one batch of transforms."""
        step = waiting.itemsize
        blocks: SignalArray = np.ndarray(
            (count, self._size_in),
            waiting.dtype,
            buffer=waiting,
            strides=(self.hop_in * step, step),
        )
        # NumPy transforms in single precision only if it also scales: here by 1 / size_in.
        transform = np.fft.rfft if self._real_in else np.fft.fft
        spectrum = transform(blocks, norm="forward")
        width = self._size_out // 2 + 1 if self._real_out else self._size_out
        shifted = np.zeros((count, width), np.complex64)
        source_pairs, target_pairs = spectrum.view(np.float32), shifted.view(np.float32)
        for source, target, start, length in self._runs:
            np.multiply(
                source_pairs[:, source : source + length],
                self._gain[start : start + length],
                out=target_pairs[:, target : target + length],
            )
        output: SignalArray = (
            np.fft.irfft(shifted, self._size_out) if self._real_out else np.fft.ifft(shifted)
        )
        kept = output[:, self._margin_out : self._margin_out + self._hop_out]
        return np.ascontiguousarray(kept).reshape(-1)


@lru_cache(maxsize=64)
def _bin_gains(
    band: Passband,
    rates: tuple[int, int],
    centres: tuple[float | None, float | None],
    shift_hz: float,
    grid: BlockGrid,
) -> tuple[RealArray, NDArray[np.float32], list[tuple[int, int, int, int]]]:
    """Return audio frequency at the input and gain of each FFT bin that a filter keeps, and runs.

    The gain is stored as pairs of reals: NumPy multiplies these in half the time of real by
    complex. The runs are those of _bin_runs. rates, centres: of input and output, as in BandFilter.
    """
    (rate_in, rate_out), (centre_in, centre_out) = rates, centres
    size_in, size_out = round(grid.block_s * rate_in), round(grid.block_s * rate_out)
    real_in, real_out = centre_in is None, centre_out is None
    first, gain = filter_response(band, grid)
    bins = np.arange(first, first + len(gain))
    source = bins - round(((centre_in or 0.0) + shift_hz) / grid.bin_hz)
    target = bins - round((centre_out or 0.0) / grid.bin_hz)
    kept = (abs(source) < size_in / 2) & (abs(target) < size_out / 2)
    kept &= (source > 0) | (not real_in)
    kept &= (target > 0) | (not real_out)
    # `_filter_blocks` has divided the spectrum by size_in already.
    scale = size_out * (2 if real_in else 1) * (0.5 if real_out else 1)
    # The shift turns the phase by half cycles over the margin.
    scale *= (-1) ** round(shift_hz / grid.tuning_step_hz)
    pairs = np.repeat((gain[kept] * scale).astype(np.float32), 2)
    pairs.flags.writeable = False
    runs = _bin_runs(source[kept], size_in, target[kept], size_out)
    return np.asarray(bins[kept] * grid.bin_hz - shift_hz), pairs, runs


def _bin_runs(
    source: NDArray[np.int_], size_in: int, target: NDArray[np.int_], size_out: int
) -> list[tuple[int, int, int, int]]:
    """Return runs of contiguous bins: start in input, output and gain curve, and length.

    Negative bin numbers are wrapped. All four values count reals, two for each bin.
    """
    cuts = {0, len(source), int(np.count_nonzero(source < 0)), int(np.count_nonzero(target < 0))}
    edges = sorted(cuts)
    return [
        (2 * int(source[a] % size_in), 2 * int(target[a] % size_out), 2 * a, 2 * (b - a))
        for a, b in pairwise(edges)
    ]


def apply_filter(band_filter: BandFilter, signal: SignalArray) -> SignalArray:
    """Return a whole signal, shape (n,), through a filter that is in its initial state."""
    chunk = BATCH_BLOCKS * band_filter.hop_in
    parts = [
        band_filter.process(signal[start : start + chunk]) for start in range(0, len(signal), chunk)
    ]
    return np.concatenate([*parts, band_filter.finish()])
