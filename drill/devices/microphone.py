"""The microphone: mono, into memory, while it is asked for. The other importer of sounddevice.

The stream's callback copies and does nothing else; levels are taken from the copy, on the caller's
side. All times are counted in samples, so that a device that is a file can be read at any speed.
"""

import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Self

import numpy as np

from drill.core.errors import NoMicrophone, single_line
from drill.core.models import Clip, Samples
from drill.devices.output import NO_LIBRARY

BLOCK_S = 0.05
LONGEST_S = 60.0
STALLED_S = 2.0  # a device that gives nothing for so long is gone
POLL_S = 0.01
SILENT = 2**-15  # full scale 1: below one step of 16 bits there is no microphone at all
SILENT_S = 0.5  # so much of it, and it is no chance
NO_DEVICE = {
    "linux": "on Linux: connect a microphone and choose it as input in the sound settings",
    "darwin": "on macOS: choose an input in System Settings, Sound",
    "win32": "on Windows: choose an input in Settings, System, Sound",
}
NOT_ALLOWED = {
    "linux": "on Linux: switch it on and raise its level in the sound settings",
    "darwin": "on macOS: allow the terminal in System Settings, Privacy and Security, Microphone",
    "win32": "on Windows: allow desktop apps in Settings, Privacy and security, Microphone",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Level:
    """The level of one block of 50 ms, full scale 1.

    at_s: its end, counted from the start of the recording. lost: the device has dropped samples.
    """

    at_s: float
    peak: float
    rms: float
    lost: bool = False


def record(
    *,
    seconds: float = LONGEST_S,
    until: Callable[[Level], bool] | None = None,
    meter: Callable[[Level], None] | None = None,
) -> Clip:
    """Return what the default input hears, at most so many seconds, at the device's rate.

    until: asked after every block of 50 ms; True ends the recording. meter: told every block.
    Raises: NoMicrophone where there is no input, it refuses, is silent or goes away; what was heard
    until then is its `kept`.
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
    """The default input. Nothing is recorded before start and nothing after stop."""

    def __init__(self) -> None:
        """Find the input. Raises: NoMicrophone with the remedy where there is none."""
        self._library = _library()
        try:
            device = self._library.query_devices(kind="input")
        except (ValueError, self._library.PortAudioError) as error:
            raise _lack(f"there is no input device ({single_line(error)})", NO_DEVICE) from None
        self.rate_hz = int(device["default_samplerate"])
        self._channels = max(1, min(2, int(device["max_input_channels"])))
        self._stream: Any = None
        self._kept: Samples = np.zeros(0, np.float32)
        self._count = [0, 0]  # samples there are, blocks before which some were lost

    def start(self, seconds: float = LONGEST_S) -> None:
        """Begin to record, at most so many seconds.

        Raises: NoMicrophone where the device refuses; ValueError where seconds is not above 0.
        """
        if not seconds > 0:
            raise ValueError(f"{seconds} s cannot be recorded")
        self.close()
        self._kept = np.zeros(max(1, round(seconds * self.rate_hz)), np.float32)
        self._count = [0, 0]
        keep = _keeper(self._kept, self._count, self._library.CallbackStop)
        try:
            self._stream = self._opened(keep)
            self._stream.start()
        except (ValueError, self._library.PortAudioError) as error:
            self.close()
            raise _lack(f"the input refuses ({single_line(error)})", NO_DEVICE) from None

    def levels(self) -> Iterator[Level]:
        """Yield the level of every 50 ms as it comes, until the time is up or stop is called.

        Raises: NoMicrophone, with what was heard, where the device gives nothing any more.
        """
        block = max(1, round(BLOCK_S * self.rate_hz))
        at, lost_before = 0, 0
        heard_at = time.monotonic()
        while self._stream is not None and at < len(self._kept):
            there, lost = self._count
            if there - at >= block or there == len(self._kept):
                part = self._kept[at : min(at + block, there)]
                at += len(part)
                heard_at = time.monotonic()
                yield Level(
                    at_s=at / self.rate_hz,
                    peak=float(np.abs(part).max()),
                    rms=float(np.sqrt(np.mean(np.square(part, dtype=np.float64)))),
                    lost=lost > lost_before,
                )
                lost_before = lost
            elif time.monotonic() - heard_at > STALLED_S or self._ended(there):
                self.close()
                kept = self._clip()
                raise _lack("the input has gone", NO_DEVICE, kept if there else None)
            else:
                time.sleep(POLL_S)

    def stop(self) -> Clip:
        """End the recording and return it, at the device's rate; empty where nothing was started.

        Raises: NoMicrophone, with the recording, where it is silent: muted, or not allowed.
        """
        self.close()
        clip = self._clip()
        if clip.seconds >= SILENT_S and float(np.abs(clip.samples).max()) < SILENT:
            raise _lack("the input gives nothing but silence", NOT_ALLOWED, clip)
        return clip

    def close(self) -> None:
        """Let go of the device; what was recorded stays."""
        stream, self._stream = self._stream, None
        if stream is not None:
            stream.close()

    def __enter__(self) -> Self:
        """Return the microphone; recording begins with start."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let go of the device."""
        self.close()

    def _clip(self) -> Clip:
        return Clip(samples=self._kept[: self._count[0]].copy(), rate_hz=self.rate_hz)

    def _ended(self, there: int) -> bool:
        """Return True where the stream has ended by itself before all was there."""
        return not self._stream.active and self._count[0] == there < len(self._kept)

    def _opened(self, keep: Any) -> Any:
        """Return a stream of one channel, or of two where the device has no one."""
        how = {"samplerate": self.rate_hz, "dtype": "float32", "latency": "high", "callback": keep}
        try:
            return self._library.InputStream(channels=1, **how)
        except self._library.PortAudioError:
            if self._channels == 1:
                raise
            return self._library.InputStream(channels=self._channels, **how)


def _keeper(kept: Samples, count: list[int], stop: type[Exception]) -> Any:
    """Return a stream callback that copies the first channel to where it is kept."""

    def keep(heard: Any, frames: int, _time: Any, status: Any) -> None:
        at = count[0]
        fits = min(frames, len(kept) - at)
        kept[at : at + fits] = heard[:fits, 0]
        if status and status.input_overflow:
            count[1] += 1
        count[0] = at + fits
        if count[0] == len(kept):
            raise stop

    return keep


def _library() -> Any:
    """Return the sounddevice module. Raises: NoMicrophone where it does not load."""
    try:
        import sounddevice
    except OSError as error:  # the Linux wheel brings no PortAudio of its own
        raise _lack(f"the PortAudio library is missing ({error})", NO_LIBRARY) from None
    return sounddevice


def _lack(what: str, remedies: dict[str, str], kept: Clip | None = None) -> NoMicrophone:
    remedy = remedies.get(sys.platform, "install PortAudio and choose a sound input")
    return NoMicrophone(f"No microphone: {what}; {remedy}", kept)
