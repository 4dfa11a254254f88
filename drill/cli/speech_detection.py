"""Separates speech from background noise in the terminal's recorders, and detects its end.

All values: common practice, no source.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drill.core.models import Clip
from drill.devices.microphone import BLOCK_S, InputLevel

if TYPE_CHECKING:
    from numpy.typing import NDArray

SPEECH_ABOVE_BACKGROUND_DB = 10.0
"""A block this far above the background, or louder, is speech."""
LEAST_SPEECH_DB = -55.0
"""Blocks below this level, re full scale, are never speech."""
BACKGROUND_PERCENTILE = 10
"""The background is the level below which this percentage of the blocks lies."""
KEY_NOISE_S = 0.3
"""Sound this soon after the start may be the noise of the key that started the recording."""


def amplitude_db(amplitude: float) -> float:
    """Return an amplitude, 0 to 1, in dB re full scale; never less than -120 dB."""
    return float(20 * np.log10(max(amplitude, 1e-6)))


@dataclass(frozen=True, kw_only=True, slots=True)
class SpeechEnd:
    """The conditions for ending a recording automatically.

    quiet_s: quiet after speech that ends it. kept_quiet_s: part of that quiet that is kept.
    min_blocks: fewer loud blocks are a click, not speech. lead_in_s: time at the start in which it
    does not end; its median level counts as background too.
    """

    quiet_s: float
    kept_quiet_s: float
    min_blocks: int
    lead_in_s: float = 0.0

    @property
    def quiet_blocks(self) -> int:
        """Number of quiet blocks that end a recording."""
        return round(self.quiet_s / BLOCK_S)

    @property
    def lead_in_blocks(self) -> int:
        """Blocks of the lead-in."""
        return round(self.lead_in_s / BLOCK_S)


class SpeechMonitor:
    """Follows a recording block by block, from the end of the noise of the key on."""

    def __init__(self, end: SpeechEnd) -> None:
        """Start without a block. end: conditions for ending the recording automatically."""
        self._end = end
        self._levels_db: list[float] = []
        self._end_s = 0.0
        self.peak = 0.0
        self.overflowed = False

    @property
    def blocks(self) -> int:
        """Number of blocks after the noise of the key."""
        return len(self._levels_db)

    @property
    def has_spoken(self) -> bool:
        """True if enough blocks are louder than the background."""
        return bool(np.sum(self._loud()) >= self._end.min_blocks)

    def follow(self, level: InputLevel) -> bool:
        """Take the next block; return True if there was speech and then enough quiet."""
        self._end_s = level.end_s
        if level.end_s <= KEY_NOISE_S:
            return False
        self.overflowed |= level.overflowed
        self.peak = max(self.peak, level.peak)
        self._levels_db.append(amplitude_db(level.rms))
        if self.blocks <= self._end.lead_in_blocks or not self.has_spoken:
            return False
        if self._loud()[-self._end.quiet_blocks :].any():
            return False
        self._end_s -= self._end.quiet_s - self._end.kept_quiet_s
        return True

    def trim(self, recording: Clip) -> Clip:
        """Return the recording without the noise of the key and without most of the final quiet.

        The device may have recorded more than the blocks that were followed; that is cut off too.
        """
        first, end = (round(s * recording.rate_hz) for s in (KEY_NOISE_S, self._end_s))
        return Clip(samples=recording.samples[first:end], rate_hz=recording.rate_hz)

    def _loud(self) -> "NDArray[np.bool_]":
        """Return a flag for each block: True if it is speech.

        The background is the quietest blocks, or the lead-in if that is quieter: somebody may have
        spoken during the lead-in, or all the time after it.
        """
        levels = np.asarray(self._levels_db)
        if not len(levels):
            return np.zeros(0, np.bool_)
        background_db = float(np.percentile(levels, BACKGROUND_PERCENTILE))
        if self._end.lead_in_blocks:
            lead_in_db = float(np.median(levels[: self._end.lead_in_blocks]))
            background_db = min(background_db, lead_in_db)
        threshold_db = max(background_db + SPEECH_ABOVE_BACKGROUND_DB, LEAST_SPEECH_DB)
        return np.asarray(levels > threshold_db)
