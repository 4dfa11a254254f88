"""What every engine's raw sound goes through: silence cut, peak set, word times kept."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import NoVoice
from drill.core.models import Clip, Samples, WordTime
from phonetics.message import Word

FRAME_S = 0.005
FLOOR_DB = -40.0  # below the loudest 5 ms of the clip: silence
LEAD_S = 0.03
TAIL_S = 0.05
RAMP_S = 0.004
PEAK = 0.8

Span = tuple[str, float, float]


def envelope_db(samples: NDArray[np.floating], rate_hz: int) -> NDArray[np.float64]:
    """Return the RMS of each 5 ms frame in dB against the loudest frame, shape (frames,)."""
    hop = round(FRAME_S * rate_hz)
    frames = np.resize(samples, (max(1, len(samples) // hop), hop)).astype(np.float64)
    power = np.mean(frames**2, axis=1)
    return np.asarray(10 * np.log10(np.maximum(power, 1e-20) / max(power.max(), 1e-20)))


def sounding(samples: NDArray[np.floating], rate_hz: int) -> tuple[float, float]:
    """Return start and end in seconds of what is above the floor of FLOOR_DB."""
    loud = np.flatnonzero(envelope_db(samples, rate_hz) > FLOOR_DB)
    return float(loud[0]) * FRAME_S, float(loud[-1] + 1) * FRAME_S


def last_sound(level_db: NDArray[np.float64], start_s: float, end_s: float) -> float:
    """Return the end in seconds of the last frame above the floor in a span; end_s if none is."""
    first = int(start_s / FRAME_S)
    loud = np.flatnonzero(level_db[first : max(first + 1, int(end_s / FRAME_S))] > FLOOR_DB)
    return (first + float(loud[-1]) + 1) * FRAME_S if len(loud) else end_s


def finish(samples: NDArray[np.floating], rate_hz: int, spans: Sequence[Span]) -> Clip:
    """Return the clip of raw sound and word spans (text, start, end in seconds of the raw sound).

    At most 30 ms stay before the first sound and 50 ms after the last; the peak is 0.8 of full
    scale. Word times are moved along, put in order and kept inside the clip.
    Raises: NoVoice where the engine gave no sound or a number that is none.
    """
    if not len(samples) or not np.isfinite(samples).all() or not np.any(samples):
        raise NoVoice("the speech engine gave no sound; choose operators of another engine")
    first_s, last_s = sounding(samples, rate_hz)
    begin = max(0, round((first_s - LEAD_S) * rate_hz))
    stop = min(len(samples), round((last_s + TAIL_S) * rate_hz))
    cut = np.array(samples[begin:stop], dtype=np.float64)
    ramp = np.linspace(0, 1, max(1, min(round(RAMP_S * rate_hz), len(cut) // 2)))
    cut[: len(ramp)] *= ramp
    cut[-len(ramp) :] *= ramp[::-1]
    sound: Samples = (cut * (PEAK / np.abs(cut).max())).astype(np.float32)
    times = _ordered(spans, begin / rate_hz, len(sound) / rate_hz)
    return Clip(samples=sound, rate_hz=rate_hz, words=times)


def shared_out(words: Sequence[Word], start_s: float, end_s: float) -> list[Span]:
    """Return spans that fill the time from start to end, each as long as its word has letters."""
    marks = np.cumsum([0, *(len(word.say) + 1 for word in words)], dtype=np.float64)
    marks = start_s + marks * (end_s - start_s) / marks[-1]
    return [
        (word.say, float(marks[place]), float(marks[place + 1])) for place, word in enumerate(words)
    ]


def _ordered(spans: Sequence[Span], moved_s: float, length_s: float) -> tuple[WordTime, ...]:
    """Return the spans moved to the clip, each of positive length, none before its predecessor."""
    words: list[WordTime] = []
    least = min(0.01, length_s / (2 * len(spans) + 2))
    before = 0.0
    for place, (say, start, end) in enumerate(spans):
        room = length_s - 2 * least * (len(spans) - place)
        start_s = min(max(before, start - moved_s), room)
        end_s = min(
            max(end - moved_s, start_s + least), length_s - 2 * least * (len(spans) - place - 1)
        )
        if words and words[-1].end_s > start_s:
            words[-1] = WordTime(say=words[-1].say, start_s=words[-1].start_s, end_s=start_s)
        words.append(WordTime(say=say, start_s=start_s, end_s=end_s))
        before = start_s + least
    return tuple(words)
