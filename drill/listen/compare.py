"""Listening to conditions: one over as asked for and without one of its stages, in figures too."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from drill.core.conditions import without
from drill.core.models import Item
from drill.radio.channel import ReceivedAudio
from drill.radio.levels import decibels


def versions(item: Item, stages: Sequence[str]) -> dict[str, Item]:
    """Return the item without each of these stages, by stage; all else in it stays the same.

    Raises: UserError where there is no such stage.
    """
    found = {}
    for stage in stages:
        bare = without(item.conditions, stage)
        kept = item.neighbours if bare.neighbours else ()
        found[stage] = replace(item, conditions=bare, neighbours=kept)
    return found


@dataclass(frozen=True, kw_only=True)
class Delivered:
    """What is known about a sound.

    snr_db: as delivered, None without noise. processing_db: what of it speech processing gained.
    pep_db: the station's PEP over its active speech level. mean_db, peak_db: of the sound, against
    full scale.
    """

    snr_db: float | None
    processing_db: float
    pep_db: float
    mean_db: float
    peak_db: float

    @property
    def snr(self) -> str:
        """Return the SNR in words."""
        return "no noise" if self.snr_db is None else f"SNR {self.snr_db:.1f} dB in 3 kHz"

    @property
    def sentence(self) -> str:
        """Return all of it in a sentence."""
        gained = self.processing_db
        processed = f", {gained:.1f} dB of it by processing" if abs(gained) > 0.05 else ""
        return (
            f"{self.snr}{processed}; the station's PEP is {self.pep_db:.1f} dB over "
            f"its speech; sound {self.mean_db:.1f} dB in the mean, {self.peak_db:.1f} dB at its "
            "peak."
        )


def delivered(heard: ReceivedAudio) -> Delivered:
    """Return what is known about a sound."""
    samples = heard.clip.samples.astype(np.float64)
    return Delivered(
        snr_db=heard.snr_db,
        processing_db=heard.emission.level_db,
        pep_db=heard.emission.peak_to_speech_db,
        mean_db=decibels(float(np.mean(samples**2))),
        peak_db=2 * decibels(float(np.max(np.abs(samples)))),
    )
