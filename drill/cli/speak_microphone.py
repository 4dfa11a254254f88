"""Records a take from the microphone: a moment of background noise, then speech until it ends.

Messages during a recording are short, because a screen reader may speak them into the microphone.
"""

from collections.abc import Sequence

import numpy as np

from drill.cli.keyboard import EnterKey
from drill.cli.speech_detection import (
    KEY_NOISE_S,
    LEAST_SPEECH_DB,
    SPEECH_ABOVE_BACKGROUND_DB,
    amplitude_db,
)
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.devices import microphone
from drill.devices.microphone import BLOCK_S, SILENCE_PEAK, InputLevel

NOISE_LEAD_IN_S = 0.5
"""Background noise before the trainee may speak; noise and hum are measured in it."""
END_QUIET_S = 2.0
"""Quiet after speech that ends the recording: longer than a pause that the review reports."""
KEPT_QUIET_S = 0.8
"""Part of the final quiet that is kept."""
MAX_TAKE_RECORDING_S = 30.0
MUTED_AFTER_S = 4.0
"""Digital silence for so long means a muted microphone: stop, so that nobody speaks in vain."""
MIN_SPEECH_BLOCKS = 6
"""Fewer loud blocks are a click and no speech."""
LEAD_IN_BLOCKS, END_QUIET_BLOCKS = round(NOISE_LEAD_IN_S / BLOCK_S), round(END_QUIET_S / BLOCK_S)
INSTRUCTIONS = (
    "Nothing is recorded before you press Enter.\n"
    "A recording begins with a moment of quiet. It ends when you press Enter, after\n"
    f"{END_QUIET_S:g} s of quiet, or after {MAX_TAKE_RECORDING_S:g} s."
)


class MicrophoneSource:
    """The default input device."""

    def __init__(self, enter: EnterKey | None = None) -> None:
        """Prepare to record. enter: the key that ends a recording, None for the terminal's."""
        self._enter = EnterKey() if enter is None else enter

    def record(self) -> Clip:
        """Record a take now.

        Raises: NoMicrophone; RecordingInterrupted with what was recorded; UserError if samples were
        lost.
        """
        monitor = _RecordingMonitor(self._enter)
        print("Recording. Keep still.", flush=True)
        recording = microphone.record_clip(seconds=MAX_TAKE_RECORDING_S, until=monitor)
        clip = monitor.trim(recording)
        # Enter may have been pressed just as the recording ended by itself; it must not answer the
        # next question.
        self._enter.discard()
        print(f"Recorded, {clip.seconds:.1f} s.", flush=True)
        if monitor.overflowed:
            raise UserError("samples were lost because the computer was busy; record again")
        return clip


class _RecordingMonitor:
    """Follows a recording block by block; a call returns True to end it."""

    def __init__(self, enter: EnterKey) -> None:
        self._enter = enter
        self._levels_db: list[float] = []
        self._end_s = self._peak = 0.0
        self.overflowed = False

    def __call__(self, level: InputLevel) -> bool:
        self._end_s = level.end_s
        if level.end_s <= KEY_NOISE_S:
            return False
        self.overflowed |= level.overflowed
        self._peak = max(self._peak, level.peak)
        self._levels_db.append(amplitude_db(level.rms))
        if len(self._levels_db) == LEAD_IN_BLOCKS:
            self._enter.discard()  # Enter pressed twice must not end the recording
            print("Say it now.", flush=True)
        if len(self._levels_db) <= LEAD_IN_BLOCKS:
            return False
        if speech_has_ended(self._levels_db):
            self._end_s -= END_QUIET_S - KEPT_QUIET_S
            return True
        is_muted = self._peak < SILENCE_PEAK and level.end_s >= MUTED_AFTER_S
        return is_muted or self._enter.was_pressed()

    def trim(self, recording: Clip) -> Clip:
        """Return the recording without the noise of the key and without most of the final quiet.

        The device may have recorded more than the blocks that were followed; that is cut off too.
        """
        first, end = (round(s * recording.rate_hz) for s in (KEY_NOISE_S, self._end_s))
        return Clip(samples=recording.samples[first:end], rate_hz=recording.rate_hz)


def speech_has_ended(levels_db: Sequence[float]) -> bool:
    """Return True if somebody has spoken and then been quiet for END_QUIET_S.

    levels_db: RMS of each block of BLOCK_S from the lead-in on, in dB re full scale. Speech is
    SPEECH_ABOVE_BACKGROUND_DB above the background, which is the lead-in, or the quietest blocks if
    somebody spoke during the lead-in.
    """
    levels = np.asarray(levels_db)
    if len(levels) <= END_QUIET_BLOCKS:
        return False
    background_db = min(np.median(levels[:LEAD_IN_BLOCKS]), np.percentile(levels, 10))
    loud = levels > max(background_db + SPEECH_ABOVE_BACKGROUND_DB, LEAST_SPEECH_DB)
    return bool(np.sum(loud) >= MIN_SPEECH_BLOCKS and not np.any(loud[-END_QUIET_BLOCKS:]))
