"""Cuts one word out of a recording and brings it to the level of a word bank."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import true_runs
from drill.core.errors import UserError
from drill.core.models import Samples
from drill.radio.levels import decibels
from drill.voices.wordbank.faults import FrameSpan, WordEvidence, WordFault, find_faults
from drill.voices.wordbank.signal_levels import (
    BANK_LEVEL_DB,
    BANK_RATE_HZ,
    LEVEL_FRAME_S,
    frame_levels_db,
    prepare_recording,
    word_level_db,
)

WORD_LEAD_S = 0.025
"""Length of background kept before the first sound of a word."""
WORD_TAIL_S = 0.045
"""Length of background kept after the last sound of a word."""
_RATE_RANGE_HZ = (8_000, 192_000)
_HIGHEST_PEAK = 0.98
_RAMP_S = 0.008
_SILENT_PEAK = 1e-6
# From here on: common practice, no source.
_WORD_DEPTH_DB = 38.0  # frames further below the loudest one are not part of the word
_ABOVE_BACKGROUND_DB = 6.0  # frames closer to the background are not part of the word
_AUDIBLE_DB = 10.0  # the loudest frame of a word is at least this far above the background
_BACKGROUND_BELOW_DB = 15.0  # a background is at least this far below the loudest frame
_END_FRAMES = 10
_STEADY_DB = 6.0
_INNER_PAUSE_S = 0.25  # a silence within a word is shorter
_CLICK_S = 0.03  # a sound this short, followed by a silence, is the click of a key or a switch
_CLICK_GAP_S = 0.12
_SHORTEST_WORD_S = 0.1


@dataclass(frozen=True, kw_only=True, eq=False)
class CutWord:
    """A word ready for a bank.

    samples: shape (n,), at BANK_RATE_HZ and BANK_LEVEL_DB, with WORD_LEAD_S of background before
    the word and WORD_TAIL_S after it. seconds: length of the word without them. level_db, peak_db:
    active speech level and peak of the original recording, re full scale. snr_db: its level
    relative to the background, None if the recording has too little background to measure.
    """

    samples: Samples
    seconds: float
    level_db: float
    peak_db: float
    snr_db: float | None
    faults: tuple[WordFault, ...]


def cut_word(
    samples: NDArray[np.floating], rate_hz: int, *, noise_db: float | None = None
) -> CutWord:
    """Return the word in a recording, shape (n,), full scale 1.

    noise_db: level of the background in dB if known; otherwise it is measured around the word.
    Raises: UserError if there is no word in the recording, or the rate is not 8 to 192 kHz.
    """
    lowest_hz, highest_hz = _RATE_RANGE_HZ
    if not lowest_hz <= rate_hz <= highest_hz:
        raise UserError(
            f"sample rate {rate_hz} Hz is out of range; allowed are {lowest_hz} to {highest_hz} Hz"
        )
    recording = np.asarray(samples, dtype=np.float64)
    peak = float(np.abs(recording).max()) if len(recording) else 0.0
    if not np.isfinite(peak) or peak < _SILENT_PEAK:
        raise UserError("the recording has no sound; record the word again")
    sound = prepare_recording(recording, rate_hz)
    levels_db = frame_levels_db(sound)
    if noise_db is not None and levels_db.max() < noise_db + _AUDIBLE_DB:
        raise UserError("no word stands out from the background noise; record the word again")
    word, other_sounds = _find_word(levels_db, noise_db)
    if word.seconds < _SHORTEST_WORD_S:
        raise UserError(
            f"the recording has no word of {_SHORTEST_WORD_S:g} s or more; record the word again"
        )
    background_db = _background_db(levels_db, word) if noise_db is None else noise_db
    trimmed = _trimmed(sound, word)
    level_db = word_level_db(trimmed)
    evidence = WordEvidence(
        samples=recording,
        levels_db=levels_db,
        word=word,
        other_sounds=other_sounds,
        level_db=level_db,
        snr_db=None if background_db is None else level_db - background_db,
    )
    return CutWord(
        samples=_at_bank_level(trimmed, level_db),
        seconds=word.seconds,
        level_db=level_db,
        peak_db=2 * decibels(peak),
        snr_db=evidence.snr_db,
        faults=find_faults(evidence),
    )


def _find_word(
    levels_db: NDArray[np.float64], noise_db: float | None
) -> tuple[FrameSpan, tuple[tuple[FrameSpan, ...], ...]]:
    """Return the frames of the word, and the loud frames of each other sound.

    Loud frames with only short silences between them form one sound; the word is the sound with the
    most energy, without clicks before it.
    """
    loudest_db = float(levels_db.max())
    floor_db = _noise_floor_db(levels_db) if noise_db is None else noise_db
    least_db = max(loudest_db - _WORD_DEPTH_DB, floor_db + _ABOVE_BACKGROUND_DB)
    loud = levels_db > min(least_db, loudest_db - 12)
    spans = [FrameSpan(first=first, last=last) for first, last in true_runs(loud)]
    sounds = [[spans[0]]]
    for span in spans[1:]:
        if (span.first - sounds[-1][-1].last) * LEVEL_FRAME_S < _INNER_PAUSE_S:
            sounds[-1].append(span)
        else:
            sounds.append([span])
    power = 10 ** (levels_db / 10)
    sounds.sort(key=lambda sound: -sum(float(power[s.first : s.last].sum()) for s in sound))
    word, *others = sounds
    while len(word) > 1 and _is_click(word[0], word[1]):
        word = word[1:]
    return (
        FrameSpan(first=word[0].first, last=word[-1].last),
        tuple(tuple(sound) for sound in others),
    )


def _noise_floor_db(levels_db: NDArray[np.float64]) -> float:
    """Return the level of the background, minus infinity if the word is cut closely.

    Only an end of the recording that is steady for 50 ms can be background, because no word starts
    or ends that steadily; the quieter end counts.
    """
    steady_levels_db = []
    for end in (levels_db[:_END_FRAMES], levels_db[-_END_FRAMES:]):
        smooth = 10 * np.log10(np.convolve(10 ** (end / 10), np.full(4, 0.25), "valid"))
        if np.ptp(smooth) < _STEADY_DB:
            steady_levels_db.append(float(np.median(end)))
    floor_db = min(steady_levels_db, default=-np.inf)
    return floor_db if floor_db < levels_db.max() - _BACKGROUND_BELOW_DB else -np.inf


def _is_click(span: FrameSpan, following: FrameSpan) -> bool:
    gap_s = (following.first - span.last) * LEVEL_FRAME_S
    return span.seconds <= _CLICK_S and gap_s >= _CLICK_GAP_S


def _background_db(levels_db: NDArray[np.float64], word: FrameSpan) -> float | None:
    """Return the median level before and after the word, None if that is less than 50 ms."""
    margin = 8
    outside = np.concatenate(
        (levels_db[: max(0, word.first - margin)], levels_db[word.last + margin :])
    )
    return float(np.median(outside)) if len(outside) * LEVEL_FRAME_S >= 0.05 else None


def _trimmed(sound: NDArray[np.float64], word: FrameSpan) -> NDArray[np.float64]:
    """Return the word with its lead and tail, ramped; zeros where the recording has none."""
    hop = round(LEVEL_FRAME_S * BANK_RATE_HZ)
    begin = word.first * hop - round(WORD_LEAD_S * BANK_RATE_HZ)
    end = word.last * hop + round(WORD_TAIL_S * BANK_RATE_HZ)
    recorded = sound[max(0, begin) : min(len(sound), end)].copy()
    size = min(round(_RAMP_S * BANK_RATE_HZ), len(recorded) // 2)
    ramp = 0.5 - 0.5 * np.cos(np.pi * (np.arange(size) + 0.5) / size)
    recorded[:size] *= ramp
    recorded[-size:] *= ramp[::-1]
    return np.pad(recorded, (max(0, -begin), max(0, end - len(sound))))


def _at_bank_level(word: NDArray[np.float64], level_db: float) -> Samples:
    gain = 10 ** ((BANK_LEVEL_DB - level_db) / 20)
    gain = min(gain, _HIGHEST_PEAK / float(np.abs(word).max()))
    return (gain * word).astype(np.float32)
