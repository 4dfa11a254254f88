"""Trim and normalise the raw sound of an engine, and put the times of its words in order."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import NoVoice
from drill.core.models import Clip, Samples, WordTime
from phonetics.message import Word

ENVELOPE_FRAME_S = 0.005
SILENCE_DB = -40.0
"""Frames at least this far below the loudest frame of a clip count as silence."""
_LEAD_S = 0.03
_TAIL_S = 0.05
_RAMP_S = 0.004
_PEAK = 0.8
_SHORTEST_WORD_S = 0.01

WordSpan = tuple[str, float, float]
"""A word's text, and its start and end in seconds from the start of the sound."""


def envelope_db(samples: NDArray[np.floating], rate_hz: int) -> NDArray[np.float64]:
    """Return the RMS of each 5 ms frame in dB relative to the loudest frame, shape (frames,)."""
    hop = round(ENVELOPE_FRAME_S * rate_hz)
    frames = np.resize(samples, (max(1, len(samples) // hop), hop)).astype(np.float64)
    power = np.mean(frames**2, axis=1)
    return np.asarray(10 * np.log10(np.maximum(power, 1e-20) / max(power.max(), 1e-20)))


def sound_bounds_s(samples: NDArray[np.floating], rate_hz: int) -> tuple[float, float]:
    """Return the start of the first and the end of the last frame above SILENCE_DB, in seconds."""
    loud = np.flatnonzero(envelope_db(samples, rate_hz) > SILENCE_DB)
    return float(loud[0]) * ENVELOPE_FRAME_S, float(loud[-1] + 1) * ENVELOPE_FRAME_S


def last_sound_end_s(level_db: NDArray[np.float64], start_s: float, end_s: float) -> float:
    """Return the end in seconds of the last frame above SILENCE_DB between start_s and end_s.

    level_db: as envelope_db returns it. Returns end_s if all frames are silent.
    """
    first = int(start_s / ENVELOPE_FRAME_S)
    stop = max(first + 1, int(end_s / ENVELOPE_FRAME_S))
    loud = np.flatnonzero(level_db[first:stop] > SILENCE_DB)
    return (first + float(loud[-1]) + 1) * ENVELOPE_FRAME_S if len(loud) else end_s


def finish_clip(samples: NDArray[np.floating], rate_hz: int, spans: Sequence[WordSpan]) -> Clip:
    """Return an engine's raw sound as a clip, trimmed, with a peak of 0.8 of full scale.

    samples: shape (n,). spans: the words, with times in the raw sound. At most 30 ms of silence
    stay before the first sound and 50 ms after the last. Word times are shifted by the trimming,
    put in order and kept inside the clip.

    Raises: NoVoice if the sound is empty, silent or not finite.
    """
    if not len(samples) or not np.isfinite(samples).all() or not np.any(samples):
        raise NoVoice("the speech engine produced no sound; choose operators of another engine")
    first_s, last_s = sound_bounds_s(samples, rate_hz)
    begin = max(0, round((first_s - _LEAD_S) * rate_hz))
    stop = min(len(samples), round((last_s + _TAIL_S) * rate_hz))
    trimmed = np.array(samples[begin:stop], dtype=np.float64)
    ramp = np.linspace(0, 1, max(1, min(round(_RAMP_S * rate_hz), len(trimmed) // 2)))
    trimmed[: len(ramp)] *= ramp
    trimmed[-len(ramp) :] *= ramp[::-1]
    sound: Samples = (trimmed * (_PEAK / np.abs(trimmed).max())).astype(np.float32)
    times = _ordered_word_times(spans, begin / rate_hz, len(sound) / rate_hz)
    return Clip(samples=sound, rate_hz=rate_hz, words=times)


def spans_by_letters(words: Sequence[Word], start_s: float, end_s: float) -> list[WordSpan]:
    """Return word spans that fill the time from start_s to end_s, in proportion to their letters.

    This is an estimate for engines that report no word times. words: at least one.
    """
    edges = np.cumsum([0, *(len(word.say) + 1 for word in words)], dtype=np.float64)
    edges = start_s + edges * (end_s - start_s) / edges[-1]
    return [
        (word.say, float(edges[index]), float(edges[index + 1])) for index, word in enumerate(words)
    ]


def _ordered_word_times(
    spans: Sequence[WordSpan], trimmed_s: float, length_s: float
) -> tuple[WordTime, ...]:
    """Return the times of the words in the trimmed clip: in order, without overlap, never empty.

    trimmed_s: seconds cut off at the start. length_s: length of the trimmed clip.
    """
    times: list[WordTime] = []
    shortest_s = min(_SHORTEST_WORD_S, length_s / (2 * len(spans) + 2))
    earliest_s = 0.0
    for index, (say, start, end) in enumerate(spans):
        # Leave twice the shortest length for each later word.
        latest_start_s = length_s - 2 * shortest_s * (len(spans) - index)
        latest_end_s = length_s - 2 * shortest_s * (len(spans) - index - 1)
        start_s = min(max(earliest_s, start - trimmed_s), latest_start_s)
        end_s = min(max(end - trimmed_s, start_s + shortest_s), latest_end_s)
        if times and times[-1].end_s > start_s:
            times[-1] = WordTime(say=times[-1].say, start_s=times[-1].start_s, end_s=start_s)
        times.append(WordTime(say=say, start_s=start_s, end_s=end_s))
        earliest_s = start_s + shortest_s
    return tuple(times)
