"""The sound card's output for an endless stream of blocks.

The stream's callback only copies samples. If they come too late, it fades out, waits for enough
samples, and fades in where it stopped, so that no sample is left out.
"""

import threading
from collections import deque
from typing import Any

import numpy as np

from drill.core.errors import single_line
from drill.core.models import Samples
from drill.core.packages import PackageMissing
from drill.devices.output import no_sound_card
from drill.devices.portaudio import NO_LIBRARY, NO_OUTPUT, load_portaudio
from drill.radio import AUDIO_RATE_HZ
from drill.radio.filters import BandFilter, BlockGrid, Passband

START_SAMPLES = 1024
"""Samples that have to be queued before playing begins, at the start and after a gap: 64 ms."""
FADE_SAMPLES = 64
DEVICE_RATES_HZ = (AUDIO_RATE_HZ, 48_000, 32_000, 96_000)
"""Rates of devices; the sound is converted to the first rate that the device supports."""
_AUDIO_BAND = Passband(low_hz=50.0, high_hz=7000.0)
_GRID = BlockGrid(block_s=0.064, hop_s=0.032)


class StreamPlayer:
    """Plays blocks at AUDIO_RATE_HZ in order. underruns: number of times that samples came late."""

    def __init__(self) -> None:
        """Open the default device. Raises: NoSoundCard with the remedy if there is none."""
        try:
            library = load_portaudio()
        except OSError as error:
            reason = "the PortAudio library is missing"
            raise no_sound_card(reason, NO_LIBRARY, f"{error}") from None
        except PackageMissing as error:
            raise no_sound_card(str(error), {}) from None
        self._buffer = PlayBuffer()
        try:
            rate_hz = _supported_rate(library)
            self._stream = library.OutputStream(
                samplerate=rate_hz,
                channels=1,
                dtype="float32",
                latency="low",
                callback=lambda out, frames, time, status: self._fill(out, frames),
            )
            self._stream.start()
        except (ValueError, library.PortAudioError) as error:
            reason = "the output cannot be opened"
            raise no_sound_card(reason, NO_OUTPUT, single_line(error)) from None
        self._converter = None
        if rate_hz != AUDIO_RATE_HZ:
            self._buffer.scale = rate_hz // AUDIO_RATE_HZ
            self._converter = BandFilter(
                _AUDIO_BAND, rate_in=AUDIO_RATE_HZ, rate_out=rate_hz, grid=_GRID
            )

    @property
    def waiting(self) -> int:
        """Number of samples at AUDIO_RATE_HZ that were written and not yet played."""
        return self._buffer.waiting // self._buffer.scale

    @property
    def underruns(self) -> int:
        """Number of times that samples came too late."""
        return self._buffer.underruns

    def write(self, samples: Samples) -> None:
        """Play samples after those written before; return at once."""
        if self._converter is not None:
            samples = np.asarray(self._converter.process(samples), np.float32)
        self._buffer.write(samples)

    def halt(self) -> None:
        """Announce a pause in the samples, so that it does not count as an underrun."""
        self._buffer.halted = True

    def close(self) -> None:
        """Close the device."""
        self._stream.close()

    def _fill(self, out: Any, frames: int) -> None:
        out[:, 0] = self._buffer.read(frames)


class PlayBuffer:
    """Samples between the thread that makes them and the callback that plays them.

    scale: number of device samples for one at AUDIO_RATE_HZ. halted: True while no samples are
    expected. underruns: number of times that samples came too late.
    """

    def __init__(self) -> None:
        """Start empty."""
        self.scale = 1
        self.underruns = 0
        self.halted = True
        self._lock = threading.Lock()
        self._blocks: deque[Samples] = deque()
        self._offset = 0
        self._waiting = 0
        self._is_dry = True
        self._last = 0.0

    @property
    def waiting(self) -> int:
        """Number of queued samples."""
        return self._waiting

    def write(self, samples: Samples) -> None:
        """Add samples."""
        with self._lock:
            self.halted = False
            if len(samples):
                self._blocks.append(samples)
                self._waiting += len(samples)

    def read(self, count: int) -> Samples:
        """Return the next samples, or a fade into silence if there are too few."""
        with self._lock:
            starts = self._is_dry and self._waiting >= max(count, START_SAMPLES * self.scale)
            if self._is_dry and not starts:
                return self._fade_out(count)
            if self._waiting < count:
                self._is_dry = True
                self.underruns += not self.halted
                return self._fade_out(count)
            self._is_dry = False
            samples = self._take(count)
        if starts:
            length = min(count, FADE_SAMPLES * self.scale)
            samples[:length] *= np.linspace(0, 1, length, dtype=np.float32)
        self._last = float(samples[-1])
        return samples

    def _take(self, count: int) -> Samples:
        parts, missing = [], count
        while missing:
            part = self._blocks[0][self._offset : self._offset + missing]
            parts.append(part)
            missing -= len(part)
            self._offset += len(part)
            if self._offset == len(self._blocks[0]):
                self._blocks.popleft()
                self._offset = 0
        self._waiting -= count
        return np.concatenate(parts)

    def _fade_out(self, count: int) -> Samples:
        decay = (1 - 4 / (FADE_SAMPLES * self.scale)) ** np.arange(1, count + 1)
        samples = np.asarray(self._last * decay, np.float32)
        self._last = float(samples[-1]) if count else 0.0
        return samples


def _supported_rate(library: Any) -> int:
    """Return the first of DEVICE_RATES_HZ that the default device supports.

    Raises: ValueError or the library's error for the first rate if there is none.
    """
    problem: Exception | None = None
    for rate_hz in DEVICE_RATES_HZ:
        try:
            library.check_output_settings(channels=1, samplerate=rate_hz)
        except (ValueError, library.PortAudioError) as error:
            problem = problem or error
            continue
        return rate_hz
    assert problem is not None
    raise problem
