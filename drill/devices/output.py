"""The sound card's output: plays one clip at a time on the default device."""

import threading
import time
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from drill.core.arrays import resample
from drill.core.errors import NoSoundCard, single_line
from drill.core.models import Clip, Samples
from drill.core.packages import PackageMissing
from drill.devices.portaudio import NO_LIBRARY, NO_OUTPUT, load_portaudio, remedy_here

STOP_RAMP_S = 0.02
STOP_TIMEOUT_S = 0.5
"""Longest wait for the ramp; a disconnected device never calls back."""


class SoundCard:
    """The default output device. A clip that is stopped ends in a short ramp, without a click."""

    def __init__(self) -> None:
        """Find the device. Raises: NoSoundCard with the remedy if there is none."""
        try:
            self._library = load_portaudio()
        except OSError as error:
            raise no_sound_card(
                "the PortAudio library is missing", NO_LIBRARY, f"{error}"
            ) from None
        except PackageMissing as error:
            raise NoSoundCard(f"No sound: {error}") from None
        try:
            device = self._library.query_devices(kind="output")
            self._device_rate_hz = int(device["default_samplerate"])
        except (ValueError, self._library.PortAudioError) as error:
            raise no_sound_card("no output device", NO_OUTPUT, single_line(error)) from None
        self._stream: Any = None
        self._stopping = threading.Event()
        self._ends_at = 0.0

    def play(self, clip: Clip) -> None:
        """Start playing a clip and return at once; a clip that is still playing is stopped first.

        Raises: NoSoundCard if the device refuses.
        """
        self.stop()
        samples, rate_hz = self._at_supported_rate(clip)
        self._stopping.clear()
        try:
            self._stream = self._library.OutputStream(
                samplerate=rate_hz,
                channels=1,
                dtype="float32",
                latency="high",
                callback=_output_callback(
                    samples, rate_hz, self._stopping, self._library.CallbackStop
                ),
            )
            self._stream.start()
        except self._library.PortAudioError as error:
            reason = "the output cannot be opened"
            raise no_sound_card(reason, NO_OUTPUT, single_line(error)) from None
        self._ends_at = time.monotonic() + len(samples) / rate_hz + self._stream.latency

    def seconds_since_end(self) -> float:
        """Return the seconds since the clip ended, 0 while it plays."""
        return max(0.0, time.monotonic() - self._ends_at)

    def stop(self) -> None:
        """Stop the clip with a ramp."""
        if self._stream is not None:
            self._stopping.set()
            deadline = time.monotonic() + STOP_TIMEOUT_S
            while self._stream.active and time.monotonic() < deadline:
                time.sleep(0.005)
            self._stream.close()
            self._stream = None
        self._ends_at = min(self._ends_at, time.monotonic())

    def _at_supported_rate(self, clip: Clip) -> tuple[Samples, int]:
        """Return the samples of a clip at a rate that the device supports, and that rate."""
        try:
            self._library.check_output_settings(channels=1, samplerate=clip.rate_hz)
        except (ValueError, self._library.PortAudioError):
            rate_hz = self._device_rate_hz
            resampled = resample(clip.samples, clip.rate_hz, rate_hz)
            # Interpolation can exceed the largest sample a little; keep it within full scale.
            return np.clip(resampled, -1, 1).astype(np.float32), rate_hz
        return clip.samples, clip.rate_hz


def _output_callback(
    samples: Samples, rate_hz: int, stopping: threading.Event, stop: type[Exception]
) -> Callable[..., None]:
    """Return a stream callback that copies the samples and ends in a ramp once stopping is set."""
    position = 0
    ramp_length = max(1, round(STOP_RAMP_S * rate_hz))
    ramp_left = ramp_length

    def fill(out: Any, frames: int, _time: Any, _status: Any) -> None:
        nonlocal position, ramp_left
        block = samples[position : position + frames]
        position += frames
        out[:, 0] = 0
        out[: len(block), 0] = block
        if stopping.is_set():
            gain = np.clip((ramp_left - np.arange(frames)) / ramp_length, 0, 1)
            out[:, 0] *= gain.astype(np.float32)
            ramp_left -= frames
        if len(block) < frames or ramp_left <= 0:
            raise stop

    return fill


def no_sound_card(reason: str, remedies: Mapping[str, str], detail: str = "") -> NoSoundCard:
    """Return the error, with the remedy for this operating system; detail: the library's report."""
    return NoSoundCard(f"No sound: {reason}; {remedy_here(remedies)}", detail)
