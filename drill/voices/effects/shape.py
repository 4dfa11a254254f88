"""Changes finished speech: pauses between words, spectral tilt, and a gradual fall of the level.

Each function returns a clip with the sample rate and the peak of the clip it was given.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.models import Clip, WordTime
from drill.voices.effects.finish import ENVELOPE_FRAME_S, SILENCE_DB, envelope_db

_TILT_RANGE_HZ = (250.0, 4000.0)  # outside this range the gain is constant
_PIVOT_HZ = 1000.0
_BOUNDARY_TOLERANCE_S = 0.04  # word times may be this far off the actual boundary of two words
_RAMP_S = 0.006
_SHORTEST_PAUSE_S = 0.03  # a shortened silence keeps at least this much


def tilt_spectrum(clip: Clip, db_per_octave: float) -> Clip:
    """Return the clip with its spectrum tilted by db_per_octave from 250 Hz to 4 kHz."""
    if not db_per_octave:
        return clip
    frequency = np.fft.rfftfreq(len(clip.samples), 1 / clip.rate_hz)
    octaves = np.log2(np.clip(frequency, *_TILT_RANGE_HZ) / _PIVOT_HZ)
    spectrum = np.fft.rfft(clip.samples.astype(np.float64)) * 10 ** (db_per_octave * octaves / 20)
    return _with_same_peak(clip, np.fft.irfft(spectrum, len(clip.samples)), clip.words)


def lower_level_gradually(clip: Clip, fall_db: float) -> Clip:
    """Return the clip with its level falling steadily, by fall_db from start to end."""
    if not fall_db:
        return clip
    gain_db = np.linspace(0, -fall_db, len(clip.samples))
    return _with_same_peak(clip, clip.samples * 10 ** (gain_db / 20), clip.words)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Edit:
    """Replace samples first to last (excluded) with this many samples of silence."""

    first: int
    last: int
    silence: int


def adjust_pauses(clip: Clip, added_s: Sequence[float]) -> Clip:
    """Return the clip with the pauses between its words lengthened or shortened.

    added_s: seconds for each word but the last, added after the word; a negative value shortens the
    silence there, but removes no sound and leaves at least 30 ms. Silence is inserted at the
    quietest place near the boundary of the two words.

    Raises: ValueError if added_s does not have one value for each word but the last.
    """
    if not any(added_s):
        return clip
    level_db = envelope_db(clip.samples, clip.rate_hz)
    edits = [
        _boundary_edit(level_db, before, after, seconds, clip.rate_hz)
        for (before, after), seconds in zip(pairwise(clip.words), added_s, strict=True)
    ]
    return _with_same_peak(clip, _edited_samples(clip, edits), _edited_word_times(clip, edits))


def _boundary_edit(
    level_db: FloatArray, before: WordTime, after: WordTime, seconds: float, rate_hz: int
) -> _Edit:
    """Return the edit at the boundary of two words, never beyond the middle of either word."""
    edges = sorted((before.end_s, after.start_s))
    hop = round(ENVELOPE_FRAME_S * rate_hz)
    if seconds >= 0:
        earliest_s = max(edges[0] - _BOUNDARY_TOLERANCE_S, (before.start_s + before.end_s) / 2)
        latest_s = min(edges[1] + _BOUNDARY_TOLERANCE_S, (after.start_s + after.end_s) / 2)
        first, last = int(earliest_s / ENVELOPE_FRAME_S), int(latest_s / ENVELOPE_FRAME_S)
        nearby = level_db[first : max(first + 1, last)]
        quietest = (first + (int(nearby.argmin()) if len(nearby) else 0)) * hop + hop // 2
        return _Edit(first=quietest, last=quietest, silence=round(seconds * rate_hz))
    start, stop = (int(edge / ENVELOPE_FRAME_S) for edge in edges)
    loud = np.flatnonzero(level_db[start:stop] > SILENCE_DB)
    quiet = start + (int(loud[-1]) + 1 if len(loud) else 0)
    removable = max(0, stop - quiet - round(_SHORTEST_PAUSE_S / ENVELOPE_FRAME_S))
    removed = min(removable, round(-seconds / ENVELOPE_FRAME_S))
    return _Edit(first=quiet * hop, last=(quiet + removed) * hop, silence=0)


def _edited_samples(clip: Clip, edits: Sequence[_Edit]) -> FloatArray:
    """Return the samples after the edits, ramped on both sides of each inserted silence."""
    ramp = np.linspace(0, 1, max(2, round(_RAMP_S * clip.rate_hz)))
    size = len(clip.samples)
    begin, end = _Edit(first=0, last=0, silence=0), _Edit(first=size, last=size, silence=0)
    pieces: list[FloatArray] = []
    for previous, edit in pairwise([begin, *edits, end]):
        piece = clip.samples[previous.last : edit.first].astype(np.float64)
        length = min(len(ramp), len(piece))
        if previous.silence:
            piece[:length] *= ramp[:length]
        if edit.silence:
            piece[len(piece) - length :] *= ramp[:length][::-1]
        pieces += [piece, np.zeros(edit.silence)]
    return np.concatenate(pieces)


def _edited_word_times(clip: Clip, edits: Sequence[_Edit]) -> tuple[WordTime, ...]:
    """Return the times of the words after the edits."""
    words: list[WordTime] = []
    shift = 0
    starts = [0, *(edit.last for edit in edits)]
    ends = [*(edit.first for edit in edits), len(clip.samples)]
    for index, word in enumerate(clip.words):
        start = max(word.start_s, starts[index] / clip.rate_hz)
        end = max(min(word.end_s, ends[index] / clip.rate_hz), start + ENVELOPE_FRAME_S)
        shift_s = shift / clip.rate_hz
        words.append(WordTime(say=word.say, start_s=start + shift_s, end_s=end + shift_s))
        if index < len(edits):
            shift += edits[index].silence - (edits[index].last - edits[index].first)
    return tuple(words)


def _with_same_peak(clip: Clip, samples: FloatArray, words: tuple[WordTime, ...]) -> Clip:
    """Return the changed samples as a clip, scaled to the peak of the original clip."""
    gain = float(np.abs(clip.samples).max()) / max(float(np.abs(samples).max()), 1e-12)
    return Clip(samples=(samples * gain).astype(np.float32), rate_hz=clip.rate_hz, words=words)
