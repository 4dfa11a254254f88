"""Changes of finished speech: pauses between words, spectral tilt, level over the over.

Each returns a clip of the same rate with the peak that it had.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from drill.core.models import Clip, WordTime
from drill.voices.effects.finish import FLOOR_DB, FRAME_S, envelope_db

TILT_HZ = (250.0, 4000.0)  # outside the gain stays as at the edge
PIVOT_HZ = 1000.0
REACH_S = 0.04  # a word's time may be so far off the place between the words
RAMP_S = 0.006
KEPT_S = 0.03  # of a silence that is shortened

Doubles = NDArray[np.float64]


def tilt(clip: Clip, tilt_db: float) -> Clip:
    """Return the clip with its spectrum tilted by tilt_db an octave from 250 Hz to 4 kHz."""
    if not tilt_db:
        return clip
    frequency = np.fft.rfftfreq(len(clip.samples), 1 / clip.rate_hz)
    octaves = np.log2(np.clip(frequency, *TILT_HZ) / PIVOT_HZ)
    spectrum = np.fft.rfft(clip.samples.astype(np.float64)) * 10 ** (tilt_db * octaves / 20)
    return _like(clip, np.fft.irfft(spectrum, len(clip.samples)), clip.words)


def sag(clip: Clip, sag_db: float) -> Clip:
    """Return the clip with its level falling steadily, by sag_db from start to end."""
    if not sag_db:
        return clip
    fall_db = np.linspace(0, -sag_db, len(clip.samples))
    return _like(clip, clip.samples * 10 ** (fall_db / 20), clip.words)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Edit:
    """Samples first to last give way to so many of silence."""

    first: int
    last: int
    silence: int


def with_gaps(clip: Clip, added_s: Sequence[float]) -> Clip:
    """Return the clip with silence added between words, or taken away where it is below 0.

    added_s: one value for each word but the last. Silence is put into the quietest place near the
    words' boundary; only silence is taken away, and a little of it stays.
    """
    if not any(added_s):
        return clip
    level_db = envelope_db(clip.samples, clip.rate_hz)
    edits = [
        _edit(level_db, before, after, seconds, clip.rate_hz)
        for (before, after), seconds in zip(pairwise(clip.words), added_s, strict=True)
    ]
    return _like(clip, _cut(clip, edits), _moved(clip, edits))


def _edit(
    level_db: Doubles, before: WordTime, after: WordTime, seconds: float, rate_hz: int
) -> _Edit:
    """Return what is to be done at the boundary of two words; never beyond the middle of either."""
    edges = sorted((before.end_s, after.start_s))
    hop = round(FRAME_S * rate_hz)
    if seconds >= 0:
        first = int(max(edges[0] - REACH_S, (before.start_s + before.end_s) / 2) / FRAME_S)
        last = int(min(edges[1] + REACH_S, (after.start_s + after.end_s) / 2) / FRAME_S)
        near = level_db[first : max(first + 1, last)]
        at = (first + (int(near.argmin()) if len(near) else 0)) * hop + hop // 2
        return _Edit(first=at, last=at, silence=round(seconds * rate_hz))
    start, stop = (int(edge / FRAME_S) for edge in edges)
    loud = np.flatnonzero(level_db[start:stop] > FLOOR_DB)
    quiet = start + (int(loud[-1]) + 1 if len(loud) else 0)
    spare = max(0, stop - quiet - round(KEPT_S / FRAME_S))
    taken = min(spare, round(-seconds / FRAME_S))
    return _Edit(first=quiet * hop, last=(quiet + taken) * hop, silence=0)


def _cut(clip: Clip, edits: Sequence[_Edit]) -> Doubles:
    """Return the sound after the edits, ramped on either side of a silence that was put in."""
    ramp = np.linspace(0, 1, max(2, round(RAMP_S * clip.rate_hz)))
    size = len(clip.samples)
    begin, end = _Edit(first=0, last=0, silence=0), _Edit(first=size, last=size, silence=0)
    pieces: list[Doubles] = []
    for before, edit in pairwise([begin, *edits, end]):
        piece = clip.samples[before.last : edit.first].astype(np.float64)
        length = min(len(ramp), len(piece))
        if before.silence:
            piece[:length] *= ramp[:length]
        if edit.silence:
            piece[len(piece) - length :] *= ramp[:length][::-1]
        pieces += [piece, np.zeros(edit.silence)]
    return np.concatenate(pieces)


def _moved(clip: Clip, edits: Sequence[_Edit]) -> tuple[WordTime, ...]:
    """Return when the words sound after the edits."""
    words: list[WordTime] = []
    moved = 0
    starts = [0, *(edit.last for edit in edits)]
    ends = [*(edit.first for edit in edits), len(clip.samples)]
    for place, word in enumerate(clip.words):
        start = max(word.start_s, starts[place] / clip.rate_hz)
        end = max(min(word.end_s, ends[place] / clip.rate_hz), start + FRAME_S)
        by_s = moved / clip.rate_hz
        words.append(WordTime(say=word.say, start_s=start + by_s, end_s=end + by_s))
        if place < len(edits):
            moved += edits[place].silence - (edits[place].last - edits[place].first)
    return tuple(words)


def _like(clip: Clip, sound: Doubles, words: tuple[WordTime, ...]) -> Clip:
    """Return the sound as a clip with the peak of the one that it was made from."""
    peak = float(np.abs(clip.samples).max()) / max(float(np.abs(sound).max()), 1e-12)
    return Clip(samples=(sound * peak).astype(np.float32), rate_hz=clip.rate_hz, words=words)
