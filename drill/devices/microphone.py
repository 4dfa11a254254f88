"""The microphone: records the default input into memory, in mono.

The stream's callback only copies samples; levels are measured from the copy, in the caller's
thread. All times are counted in samples, so a file that replaces the device can be read at any
speed.
"""

import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Self

import numpy as np

from drill.core.errors import NoMicrophone, single_line
from drill.core.models import Clip, Samples
from drill.core.packages import PackageMissing
from drill.devices.portaudio import (
    INPUT_SILENT,
    NO_INPUT,
    NO_LIBRARY,
    load_portaudio,
    remedy_here,
)

BLOCK_S = 0.05
MAX_RECORDING_S = 60.0
STALL_TIMEOUT_S = 2.0
"""A device that delivers nothing for this long counts as disconnected."""
POLL_INTERVAL_S = 0.01
SILENCE_PEAK = 2**-15
"""At full scale 1; no microphone delivers a recording that stays below one 16-bit step."""
MIN_SILENCE_S = 0.5
"""Shorter silence can occur by chance."""


class RecordingInterrupted(NoMicrophone):
    """The input disappeared or was silent. recording: the audio delivered until then."""

    def __init__(self, message: str, recording: Clip) -> None:
        """Store the recording with the message."""
        super().__init__(message)
        self.recording = recording


@dataclass(frozen=True, kw_only=True, slots=True)
class InputLevel:
    """The level of one block of 50 ms, at full scale 1.

    end_s: end of the block from the start of the recording. overflowed: samples were lost before.
    """

    end_s: float
    peak: float
    rms: float
    overflowed: bool = False


def record_clip(
    *,
    seconds: float = MAX_RECORDING_S,
    until: Callable[[InputLevel], bool] | None = None,
    meter: Callable[[InputLevel], None] | None = None,
) -> Clip:
    """Record from the default input at the device's rate, for at most `seconds`.

    until: called after every block of 50 ms; True ends the recording. meter: called likewise.

    Raises: NoMicrophone if there is no input or it refuses; RecordingInterrupted if it is silent or
    disappears.
    """
    with Microphone() as microphone:
        microphone.start(seconds)
        for level in microphone.levels():
            if meter is not None:
                meter(level)
            if until is not None and until(level):
                break
        return microphone.stop()


class Microphone:
    """The default input device. It records only between start and stop."""

    def __init__(self) -> None:
        """Find the device. Raises: NoMicrophone with the remedy if there is none."""
        try:
            self._library = load_portaudio()
        except OSError as error:
            raise _no_microphone(
                f"the PortAudio library is missing ({error})", NO_LIBRARY
            ) from None
        except PackageMissing as error:
            raise NoMicrophone(f"No microphone: {error}") from None
        try:
            device = self._library.query_devices(kind="input")
        except (ValueError, self._library.PortAudioError) as error:
            raise _no_microphone(f"no input device ({single_line(error)})", NO_INPUT) from None
        self.rate_hz = int(device["default_samplerate"])
        self._channels = max(1, min(2, int(device["max_input_channels"])))
        self._stream: Any = None
        self._buffer = _RecordingBuffer(np.zeros(0, np.float32))

    def start(self, seconds: float = MAX_RECORDING_S) -> None:
        """Start recording, for at most `seconds`.

        Raises: NoMicrophone if the device refuses; ValueError unless seconds is positive.
        """
        if not seconds > 0:
            raise ValueError(f"{seconds} s cannot be recorded")
        self.close()
        samples = np.zeros(max(1, round(seconds * self.rate_hz)), np.float32)
        self._buffer = _RecordingBuffer(samples)
        callback = _input_callback(self._buffer, self._library.CallbackStop)
        try:
            self._stream = self._open_stream(callback)
            self._stream.start()
        except (ValueError, self._library.PortAudioError) as error:
            self.close()
            reason = f"the input cannot be opened ({single_line(error)})"
            raise _no_microphone(reason, NO_INPUT) from None

    def levels(self) -> Iterator[InputLevel]:
        """Yield the level of every 50 ms as it arrives, until the time is up or stop is called.

        Raises: NoMicrophone if the device stops delivering: RecordingInterrupted if it had begun.
        """
        buffer = self._buffer
        block_length = max(1, round(BLOCK_S * self.rate_hz))
        position, overflows_seen = 0, 0
        last_block_at = time.monotonic()
        while self._stream is not None and position < len(buffer.samples):
            available, overflows = buffer.filled, buffer.overflows
            if available - position >= block_length or available == len(buffer.samples):
                block = buffer.samples[position : min(position + block_length, available)]
                position += len(block)
                last_block_at = time.monotonic()
                yield InputLevel(
                    end_s=position / self.rate_hz,
                    peak=float(np.abs(block).max()),
                    rms=float(np.sqrt(np.mean(np.square(block, dtype=np.float64)))),
                    overflowed=overflows > overflows_seen,
                )
                overflows_seen = overflows
            elif time.monotonic() - last_block_at > STALL_TIMEOUT_S or self._has_ended(available):
                self.close()
                reason = "the input has been disconnected"
                raise (
                    _interrupted(reason, NO_INPUT, self._recording())
                    if available
                    else _no_microphone(reason, NO_INPUT)
                )
            else:
                time.sleep(POLL_INTERVAL_S)

    def stop(self) -> Clip:
        """Stop and return the recording, at the device's rate; empty if it was never started.

        Raises: RecordingInterrupted if the recording is silent: muted, or not permitted.
        """
        self.close()
        recording = self._recording()
        if recording.seconds >= MIN_SILENCE_S:
            peak = float(np.abs(recording.samples).max())
            if peak < SILENCE_PEAK:
                raise _interrupted("the input delivers only silence", INPUT_SILENT, recording)
        return recording

    def close(self) -> None:
        """Release the device; the recording stays available."""
        stream, self._stream = self._stream, None
        if stream is not None:
            stream.close()

    def __enter__(self) -> Self:
        """Return the microphone; recording begins with start."""
        return self

    def __exit__(self, *_: object) -> None:
        """Release the device."""
        self.close()

    def _recording(self) -> Clip:
        samples = self._buffer.samples[: self._buffer.filled].copy()
        return Clip(samples=samples, rate_hz=self.rate_hz)

    def _has_ended(self, available: int) -> bool:
        """Return whether the stream ended before the buffer was full."""
        buffer = self._buffer
        return not self._stream.active and buffer.filled == available < len(buffer.samples)

    def _open_stream(self, callback: Any) -> Any:
        """Return a stream with one channel, or with two if the device does not offer one."""
        options = {
            "samplerate": self.rate_hz,
            "dtype": "float32",
            "latency": "high",
            "callback": callback,
        }
        try:
            return self._library.InputStream(channels=1, **options)
        except self._library.PortAudioError:
            if self._channels == 1:
                raise
            return self._library.InputStream(channels=self._channels, **options)


@dataclass(slots=True)
class _RecordingBuffer:
    """Samples that the callback fills. filled: valid samples; overflows: blocks after a loss."""

    samples: Samples
    filled: int = 0
    overflows: int = 0


def _input_callback(buffer: _RecordingBuffer, stop: type[Exception]) -> Callable[..., None]:
    """Return a stream callback that copies the first channel into the buffer."""

    def copy(data: Any, frames: int, _time: Any, status: Any) -> None:
        start = buffer.filled
        count = min(frames, len(buffer.samples) - start)
        buffer.samples[start : start + count] = data[:count, 0]
        if status and status.input_overflow:
            buffer.overflows += 1
        buffer.filled = start + count
        if buffer.filled == len(buffer.samples):
            raise stop

    return copy


def _no_microphone(reason: str, remedies: Mapping[str, str]) -> NoMicrophone:
    return NoMicrophone(f"No microphone: {reason}; {remedy_here(remedies)}")


def _interrupted(reason: str, remedies: Mapping[str, str], recording: Clip) -> RecordingInterrupted:
    return RecordingInterrupted(f"No microphone: {reason}; {remedy_here(remedies)}", recording)
