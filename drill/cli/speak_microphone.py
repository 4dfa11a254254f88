"""A take from the microphone: quiet, then the voice, until it has been quiet or Enter is pressed.

What is said while it records is as short as can be: a screen reader says it aloud.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from drill.cli.keyboard import EnterKey
from drill.cli.speech_detection import (
    KEY_NOISE_S,
    LEAST_SPEECH_DB,
    SPEECH_ABOVE_BACKGROUND_DB,
)
from drill.devices.microphone import BLOCK_S, SILENCE_PEAK

if TYPE_CHECKING:
    from drill.core.models import Clip
    from drill.devices.microphone import InputLevel
    from drill.sending.models import Prompt

LEAD_S = 0.5
"""Of the room, between the key and the voice: noise and hum are measured in it."""
QUIET_S = 2.0
"""So much quiet after the voice ends it: longer than a pause that is to be found fault with."""
LEFT_S = 0.8
"""Of that quiet, so much stays."""
LONGEST_S = 30.0
DEAD_S = 4.0
"""A device that has given digital silence for so long is muted; nobody is to speak on into it."""
SPOKEN_BLOCKS = 6
LEAD_BLOCKS, QUIET_BLOCKS = round(LEAD_S / BLOCK_S), round(QUIET_S / BLOCK_S)
HOW = (
    "Nothing is recorded before you press Enter.\n"
    "A recording begins with a moment of quiet. It ends with Enter, by itself after\n"
    f"{QUIET_S:g} s of quiet, or after {LONGEST_S:g} s."
)


class MicrophoneSource:
    """The default input."""

    def __init__(self, enter: EnterKey | None = None) -> None:
        """Take the key by which the speaker ends a recording; None: the terminal's Enter."""
        self._enter = EnterKey() if enter is None else enter

    def take(self, prompt: "Prompt") -> "Clip":
        """Record what is said to a prompt, at once.

        Raises: NoMicrophone, with what was heard; UserError where samples were lost on the way.
        """
        from drill.core.errors import UserError
        from drill.devices import microphone

        watch = _Watch(self._enter)
        print("Recording. Keep still.", flush=True)
        clip = watch.trimmed(microphone.record_clip(seconds=LONGEST_S, until=watch))
        self._enter.discard()  # pressed while it ended by itself: not to answer the next question
        print(f"Recorded, {clip.seconds:.1f} s.", flush=True)
        if watch.lost:
            raise UserError("samples were lost on the way, the machine is busy; record it again")
        return clip


class _Watch:
    """Follows a recording block by block; True ends it."""

    def __init__(self, enter: EnterKey) -> None:
        self._enter = enter
        self._levels_db: list[float] = []
        self._end_s = self._peak = 0.0
        self.lost = False

    def __call__(self, level: "InputLevel") -> bool:
        self._end_s = level.end_s
        if level.end_s <= KEY_NOISE_S:
            return False
        self.lost |= level.overflowed
        self._peak = max(self._peak, level.peak)
        before = len(self._levels_db)
        self._levels_db.append(float(20 * np.log10(max(level.rms, 1e-6))))
        if before < LEAD_BLOCKS <= len(self._levels_db):
            self._enter.discard()  # a key pressed twice is not to end it
            print("Say it now.", flush=True)
        if len(self._levels_db) <= LEAD_BLOCKS:
            return False
        if is_over(self._levels_db):
            self._end_s -= QUIET_S - LEFT_S
            return True
        dead = self._peak < SILENCE_PEAK and level.end_s >= DEAD_S
        return dead or self._enter.was_pressed()

    def trimmed(self, clip: "Clip") -> "Clip":
        """Return a recording without the key that started it and most of the quiet that ended it.

        A device may be ahead of what was followed; what it has heard since is cut off too.
        """
        from drill.core.models import Clip

        first, last = (round(at_s * clip.rate_hz) for at_s in (KEY_NOISE_S, self._end_s))
        return Clip(samples=clip.samples[first:last], rate_hz=clip.rate_hz)


def is_over(levels_db: Sequence[float]) -> bool:
    """Return True where somebody has spoken and has been quiet since for QUIET_S.

    levels_db: RMS of each block of BLOCK_S from the lead-in on, against full scale. Voice lies
    SPEECH_ABOVE_BACKGROUND_DB over the background: the lead-in, or the quietest blocks where somebody spoke into it.
    """
    levels = np.asarray(levels_db)
    if len(levels) <= QUIET_BLOCKS:
        return False
    background_db = min(np.median(levels[:LEAD_BLOCKS]), np.percentile(levels, 10))
    loud = levels > max(background_db + SPEECH_ABOVE_BACKGROUND_DB, LEAST_SPEECH_DB)
    return bool(np.sum(loud) >= SPOKEN_BLOCKS and not np.any(loud[-QUIET_BLOCKS:]))
