"""Estimates the times of words for engines that do not report them."""

from collections.abc import Sequence

from drill.core.arrays import true_runs
from drill.core.models import Samples
from drill.voices.effects.finish import (
    ENVELOPE_FRAME_S,
    SILENCE_DB,
    WordSpan,
    envelope_db,
    spans_by_letters,
)
from phonetics.message import Word

_MIN_SILENCE_S = 0.06  # a shorter silence may be inside a stop consonant


def estimate_word_spans(words: Sequence[Word], samples: Samples, rate_hz: int) -> list[WordSpan]:
    """Return an estimated span of each word, in seconds; accurate to about 0.15 s.

    The longest silences are assumed to be the pauses, and the time between two pauses is divided by
    letters. With fewer silences than pauses, the whole time is divided by letters.
    """
    seconds = len(samples) / rate_hz
    phrases: list[list[Word]] = [[]]
    for word in words:
        phrases[-1].append(word)
        if word.pause:
            phrases.append([])
    phrases = [phrase for phrase in phrases if phrase]
    silences = [
        (start, end)
        for start, end in _silences(samples, rate_hz)
        if start > 0 and end < seconds - _MIN_SILENCE_S
    ]
    if len(silences) < len(phrases) - 1:
        phrases, silences = [list(words)], []
    longest_first = sorted(silences, key=lambda silence: silence[0] - silence[1])
    pauses = sorted(longest_first[: len(phrases) - 1])
    starts = [0.0, *(end for _, end in pauses)]
    ends = [*(start for start, _ in pauses), seconds]
    return [
        span
        for phrase, start, end in zip(phrases, starts, ends, strict=True)
        for span in spans_by_letters(phrase, start, end)
    ]


def _silences(samples: Samples, rate_hz: int) -> list[tuple[float, float]]:
    """Return start and end in seconds of the silences that are long enough to separate words."""
    frames = true_runs(envelope_db(samples, rate_hz) < SILENCE_DB)
    silences = [(first * ENVELOPE_FRAME_S, end * ENVELOPE_FRAME_S) for first, end in frames]
    return [(start, end) for start, end in silences if end - start >= _MIN_SILENCE_S]
