"""The sound card's output. It and drill.devices.microphone alone import sounddevice."""

import threading
import time
from typing import Any

import numpy as np

from drill.core.arrays import resample
from drill.core.errors import NoSoundCard, single_line
from drill.core.models import Clip, Samples

STOP_RAMP_S = 0.02
NO_LIBRARY = {
    "linux": "on Debian or Ubuntu: sudo apt install libportaudio2",
    "darwin": "on macOS: install faintcall with pip again, PortAudio comes with it",
    "win32": "on Windows: install faintcall with pip again, PortAudio comes with it",
}
NO_DEVICE = {
    "linux": "on Linux: connect or switch on an output in the sound settings",
    "darwin": "on macOS: choose an output in System Settings, Sound",
    "win32": "on Windows: choose an output in Settings, System, Sound",
}
ELSE = "or let each item be written as a file: --audio-to DIR"


def _lack(what: str, remedies: dict[str, str]) -> NoSoundCard:
    import sys

    remedy = remedies.get(sys.platform, "install PortAudio and choose a sound output")
    return NoSoundCard(f"No sound: {what}; {remedy}; {ELSE}")


def _library() -> Any:
    """Return the sounddevice module. Raises: NoSoundCard with the remedy where it does not load."""
    try:
        import sounddevice
    except OSError as error:  # the Linux wheel brings no PortAudio of its own
        raise _lack(f"the PortAudio library is missing ({error})", NO_LIBRARY) from None
    return sounddevice


class SoundCard:
    """The default output. One clip at a time; a clip that is stopped ends in a short ramp."""

    def __init__(self) -> None:
        """Find the output. Raises: NoSoundCard with the remedy where there is none."""
        self._library = _library()
        try:
            device = self._library.query_devices(kind="output")
            self._device_rate_hz = int(device["default_samplerate"])
        except (ValueError, self._library.PortAudioError) as error:
            raise _lack(f"there is no output device ({single_line(error)})", NO_DEVICE) from None
        self._stream: Any = None
        self._stopping = threading.Event()
        self._ends_at = 0.0

    def play(self, clip: Clip) -> None:
        """Start playing and return at once; what still plays is stopped first.

        Raises: NoSoundCard where the device refuses.
        """
        self.stop()
        samples, rate_hz = self._fitted(clip)
        self._stopping.clear()
        try:
            self._stream = self._library.OutputStream(
                samplerate=rate_hz,
                channels=1,
                dtype="float32",
                latency="high",
                callback=_feeder(samples, rate_hz, self._stopping, self._library.CallbackStop),
            )
            self._stream.start()
        except self._library.PortAudioError as error:
            raise _lack(f"the output refuses ({single_line(error)})", NO_DEVICE) from None
        self._ends_at = time.monotonic() + len(samples) / rate_hz + self._stream.latency

    def since_end(self) -> float:
        """Return the seconds since the clip ended; 0 while it plays."""
        return max(0.0, time.monotonic() - self._ends_at)

    def stop(self) -> None:
        """Stop with a ramp, so that there is no click."""
        if self._stream is not None:
            self._stopping.set()
            deadline = time.monotonic() + 0.5
            while self._stream.active and time.monotonic() < deadline:
                time.sleep(0.005)
            self._stream.close()
            self._stream = None
        self._ends_at = min(self._ends_at, time.monotonic())

    def _fitted(self, clip: Clip) -> tuple[Samples, int]:
        """Return the clip's sound at a rate that the device takes."""
        try:
            self._library.check_output_settings(channels=1, samplerate=clip.rate_hz)
        except (ValueError, self._library.PortAudioError):
            rate_hz = self._device_rate_hz
            sound = resample(clip.samples, clip.rate_hz, rate_hz)
            # Interpolation may reach a little above the samples; the stated peak holds.
            return np.clip(sound, -1, 1).astype(np.float32), rate_hz
        return clip.samples, clip.rate_hz


def _feeder(samples: Samples, rate_hz: int, stopping: threading.Event, stop: type) -> Any:
    """Return a stream callback that copies the samples, and ends in a ramp when told to stop."""
    at = 0
    ramp = max(1, round(STOP_RAMP_S * rate_hz))
    left = ramp

    def feed(out: Any, frames: int, _time: Any, _status: Any) -> None:
        nonlocal at, left
        block = samples[at : at + frames]
        at += frames
        out[:, 0] = 0
        out[: len(block), 0] = block
        if stopping.is_set():
            fall = np.clip((left - np.arange(frames)) / ramp, 0, 1)
            out[:, 0] *= fall.astype(np.float32)
            left -= frames
        if len(block) < frames or left <= 0:
            raise stop

    return feed
