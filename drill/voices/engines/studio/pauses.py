"""Lengthens the pauses of the studio voice to at least what its punctuation requires.

Many of the model's voices make no pause at a comma. Silence is inserted where the sound between two
words is quietest, which also separates the times of the words.
"""

from collections.abc import Sequence

import numpy as np

from drill.core.arrays import FloatArray, true_runs
from drill.voices.effects.finish import ENVELOPE_FRAME_S, WordSpan, envelope_db, last_sound_end_s

MIN_PAUSE_S = {",": 0.12, ".": 0.25}
_QUIET_DB = -35.0
_SEARCH_MARGIN_S = 0.06  # longest part of a pause that may lie within the words around it
_RAMP_S = 0.012
_MIN_WORD_S = 0.08


def lengthen_pauses(
    sound: FloatArray, rate_hz: int, spans: Sequence[WordSpan], pauses: Sequence[str]
) -> tuple[FloatArray, list[WordSpan]]:
    """Return the sound with pauses of at least MIN_PAUSE_S, and the spans moved accordingly.

    spans: text, start and end in seconds of each word. pauses: punctuation after each word, "" for
    none. The last word ends with the last sound.
    """
    level_db = envelope_db(sound, rate_hz)
    parts: list[FloatArray] = []
    copied, inserted_s = 0, 0.0  # samples copied so far, seconds of silence inserted so far
    moved = [spans[0]]
    for number, (say, start_s, end_s) in enumerate(spans[1:], 1):
        previous, previous_start_s, _ = moved[-1]
        new_start_s = start_s + inserted_s
        min_pause_s = MIN_PAUSE_S.get(pauses[number - 1], 0.0)
        if min_pause_s:
            quiet_s, loud_s = _quietest_gap(
                level_db, spans[number - 1][2] - _SEARCH_MARGIN_S, start_s + _SEARCH_MARGIN_S
            )
            moved[-1] = (previous, previous_start_s, quiet_s + inserted_s)
            missing = max(0, round((min_pause_s - (loud_s - quiet_s)) * rate_hz))
            if missing:
                cut = round((quiet_s + loud_s) / 2 * rate_hz)
                parts += [_ramped(sound[copied:cut], rate_hz, start=copied > 0), np.zeros(missing)]
                inserted_s, copied = inserted_s + missing / rate_hz, cut
            # A weak word such as "the" may be below the threshold of silence.
            new_start_s = min(loud_s, end_s - _MIN_WORD_S) + inserted_s
        moved.append((say, new_start_s, end_s + inserted_s))
    parts.append(_ramped(sound[copied:], rate_hz, start=copied > 0, end=False))
    say, start_s, _ = moved[-1]
    end_s = last_sound_end_s(level_db, start_s - inserted_s, len(sound) / rate_hz) + inserted_s
    return np.concatenate(parts), [*moved[:-1], (say, start_s, end_s)]


def _quietest_gap(level_db: FloatArray, start_s: float, end_s: float) -> tuple[float, float]:
    """Return start and end of the longest quiet stretch, or of the quietest frame if none is."""
    first = int(max(0.0, start_s) / ENVELOPE_FRAME_S)
    gap_db = level_db[first : max(first + 1, int(end_s / ENVELOPE_FRAME_S))]
    quietest = int(np.argmin(gap_db))
    stretches = true_runs(gap_db < _QUIET_DB) or [(quietest, quietest + 1)]
    start, end = max(stretches, key=lambda stretch: stretch[1] - stretch[0])
    return (first + start) * ENVELOPE_FRAME_S, (first + end) * ENVELOPE_FRAME_S


def _ramped(sound: FloatArray, rate_hz: int, *, start: bool, end: bool = True) -> FloatArray:
    """Return the sound with a raised-cosine ramp at its start and end, so that neither clicks."""
    count = min(round(_RAMP_S * rate_hz), len(sound) // 2)
    ramp = 0.5 - 0.5 * np.cos(np.pi * (np.arange(count) + 0.5) / max(count, 1))
    result = sound.copy()
    if start:
        result[:count] *= ramp
    if end:
        result[len(sound) - count :] *= ramp[::-1]
    return result
