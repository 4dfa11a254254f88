"""Faults in the recording of a word. A recording with faults can still be used."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import true_runs
from drill.voices.wordbank.signal_levels import LEVEL_FRAME_S

# All limits: common practice, no source.
_EDGE_DB = 25.0
"""A recording whose level at its start or end is this close to the loudest frame is cut off."""
_SOFT_DB = -42.0
_LEAST_SNR_DB = 20.0
_LONGEST_S = 2.5
_SECOND_WORD_S = 0.08
_SECOND_WORD_DB = 18.0
"""Other sound that is at least this long and within this range of the loudest frame is another
word."""
_CLIPPED_SAMPLES = 4
_CLIPPED_RUNS = 3


class WordFault(StrEnum):
    """A fault in the recording of a word."""

    CLIPPED = "clipped"
    TOO_SOFT = "too-soft"
    START_CUT_OFF = "start-cut-off"
    END_CUT_OFF = "end-cut-off"
    TOO_NOISY = "too-noisy"
    SEVERAL_WORDS = "several-words"
    TOO_LONG = "too-long"


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameSpan:
    """Frames first to last (excluded), each LEVEL_FRAME_S long."""

    first: int
    last: int

    @property
    def seconds(self) -> float:
        """Return the length in seconds."""
        return (self.last - self.first) * LEVEL_FRAME_S


@dataclass(frozen=True, kw_only=True, eq=False)
class WordEvidence:
    """Measurements of a recording from which its faults are derived.

    samples: the recording, shape (n,), full scale 1. levels_db: level of each frame. word: the
    frames of the word. other_sounds: the loud frames of each other sound. level_db: active speech
    level of the word. snr_db: that level relative to the background, None if unknown.
    """

    samples: NDArray[np.float64]
    levels_db: NDArray[np.float64]
    word: FrameSpan
    other_sounds: tuple[tuple[FrameSpan, ...], ...]
    level_db: float
    snr_db: float | None


def find_faults(evidence: WordEvidence) -> tuple[WordFault, ...]:
    """Return the faults of a recording, in the order of WordFault."""
    levels_db, word = evidence.levels_db, evidence.word
    loudest_db = float(levels_db.max())
    starts_loud = levels_db[:3].max() > loudest_db - _EDGE_DB
    ends_loud = levels_db[-4:].max() > loudest_db - _EDGE_DB
    is_present = {
        WordFault.CLIPPED: is_clipped(evidence.samples),
        WordFault.TOO_SOFT: evidence.level_db < _SOFT_DB,
        WordFault.START_CUT_OFF: word.first <= 1 and starts_loud,
        WordFault.END_CUT_OFF: word.last >= len(levels_db) - 2 and ends_loud,
        WordFault.TOO_NOISY: evidence.snr_db is not None and evidence.snr_db < _LEAST_SNR_DB,
        WordFault.SEVERAL_WORDS: any(
            _is_word(spans, levels_db, loudest_db) for spans in evidence.other_sounds
        ),
        WordFault.TOO_LONG: word.seconds > _LONGEST_S,
    }
    return tuple(fault for fault, present in is_present.items() if present)


def _is_word(
    spans: tuple[FrameSpan, ...], levels_db: NDArray[np.float64], loudest_db: float
) -> bool:
    """Return True if another sound is long and loud enough to be a second word."""
    loudest_of_sound_db = max(levels_db[span.first : span.last].max() for span in spans)
    is_long = sum(span.last - span.first for span in spans) * LEVEL_FRAME_S >= _SECOND_WORD_S
    return is_long and bool(loudest_of_sound_db > loudest_db - _SECOND_WORD_DB)


def is_clipped(samples: NDArray[np.floating]) -> bool:
    """Return True if several samples in a row have the same peak value.

    samples: shape (n,), n at least 1, full scale 1. Below full scale, this has to occur in three
    places.
    """
    magnitude = np.abs(np.asarray(samples))
    peak = float(magnitude.max())
    if peak < 0.1:
        return False
    lengths = [stop - start for start, stop in true_runs(magnitude >= peak * 0.9995)]
    if max(lengths) < _CLIPPED_SAMPLES:
        return False
    clipped_runs = sum(length >= _CLIPPED_SAMPLES for length in lengths)
    return peak > 0.97 or clipped_runs >= _CLIPPED_RUNS
