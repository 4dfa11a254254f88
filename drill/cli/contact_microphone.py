"""An over from the microphone during a contact: it begins at once and ends soon after the voice."""

import numpy as np

from drill.cli.line_reader import LineReader
from drill.cli.speech_detection import (
    KEY_NOISE_S,
    LEAST_SPEECH_DB,
    SPEECH_ABOVE_BACKGROUND_DB,
    amplitude_db,
)
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.devices import microphone
from drill.devices.microphone import BLOCK_S, InputLevel

OVER_END_QUIET_S = 0.8
"""Quiet that ends an over: shorter than in the sending drill, because the far station waits."""
OVER_KEPT_QUIET_S = 0.1
MAX_OVER_S = 20.0
MIN_OVER_BLOCKS = 4
"""Fewer loud blocks are a click and no speech."""
OVER_END_BLOCKS = round(OVER_END_QUIET_S / BLOCK_S)


def record_over(reader: LineReader) -> Clip:
    """Return what the trainee says now; Enter ends it too.

    Raises: NoMicrophone; UserError if nobody spoke or samples were lost.
    """
    monitor = _OverMonitor(reader)
    print("Speak now.", flush=True)
    recording = microphone.record_clip(seconds=MAX_OVER_S, until=monitor)
    if monitor.overflowed:
        raise UserError("Samples were lost because the computer was busy.")
    first, end = (round(s * recording.rate_hz) for s in (KEY_NOISE_S, monitor.end_s))
    clip = Clip(samples=recording.samples[first:end], rate_hz=recording.rate_hz)
    if not monitor.has_spoken or not clip.samples.any():
        raise UserError("Nobody spoke; nothing was sent.")
    print(f"Sent, {clip.seconds:.1f} s.", flush=True)
    return clip


class _OverMonitor:
    """Follows a recording block by block; a call returns True to end it."""

    def __init__(self, reader: LineReader) -> None:
        self._reader = reader
        self._levels_db: list[float] = []
        self.end_s = 0.0
        self.overflowed = False

    @property
    def has_spoken(self) -> bool:
        """True if enough blocks are louder than the background."""
        return bool(np.sum(self._loud()) >= MIN_OVER_BLOCKS)

    def __call__(self, level: InputLevel) -> bool:
        self.end_s = level.end_s
        if level.end_s <= KEY_NOISE_S:
            return False
        self.overflowed |= level.overflowed
        self._levels_db.append(amplitude_db(level.rms))
        if self.has_spoken and not self._loud()[-OVER_END_BLOCKS:].any():
            self.end_s -= OVER_END_QUIET_S - OVER_KEPT_QUIET_S
            return True
        return self._reader.read(0) is not None

    def _loud(self) -> "np.ndarray[tuple[int], np.dtype[np.bool_]]":
        levels = np.asarray(self._levels_db)
        background_db = np.percentile(levels, 10) if len(levels) else 0.0
        threshold_db = max(float(background_db) + SPEECH_ABOVE_BACKGROUND_DB, LEAST_SPEECH_DB)
        return np.asarray(levels > threshold_db)
