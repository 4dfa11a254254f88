"""The studio voice: a larger model with 54 recorded people in it, for those who install it.

It speaks about twice as fast as it is heard, so its overs are made ahead and kept. Pitch and melody
are bent inside the model (studio_model); the length of the vocal tract by reading the finished
sound quicker or slower, with pitch and pace moved the other way before. breath_db changes nothing.
"""

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import runs
from drill.core.errors import NoVoice, UserError
from drill.core.models import Clip, Operator
from drill.voices.effects.finish import (
    ENVELOPE_FRAME_S,
    WordSpan,
    envelope_db,
    finish_clip,
    last_sound_end_s,
    sound_bounds_s,
)
from drill.voices.engines.chunks import Chunk as Piece
from drill.voices.engines.chunks import split_into_chunks as pieces
from drill.voices.engines.chunks import symbols_of as text_of
from drill.voices.engines.natural.pronounce import phonemes_of_word
from drill.voices.engines.studio import model, voice_files
from drill.voices.engines.studio.model import MODEL_SHA256, RATE_HZ, RUNTIME
from drill.voices.versions import installed_version
from phonetics.message import Word

Sound = NDArray[np.float64]

TOKEN_S = 0.025  # unit of the model's durations
EARLY_S = 0.09  # the durations lag the sound; median against a recogniser's own segmentation
LINGER_S = 0.04  # a word's end lags less than its start
# Many of the voices run on where others pause: what the mark adds, in units of 25 ms, draws out the
# sound before it, and the silence is made at least so long.
LONGER = {",": 2.0, ".": 3.0}
LEAST_PAUSE_S = {",": 0.12, ".": 0.25}
QUIET_DB = -35.0
REACH_S = 0.06  # how far into the words about it a pause is looked for
RAMP_S = 0.012
LEAST_WORD_S = 0.08
MARGIN_S = 0.1  # silence that stays at the ends of a piece
TRACT_RANGE = (0.8, 1.25)
PARTS_OF_ONE = 100  # resolution of the tract


class StudioEngine:
    """The engine of studio voices. Safe in several threads; one model is shared by all objects."""

    name = "studio"
    repeatable = True

    @property
    def version(self) -> str:
        """Return what decides the sound: the digests of model and voices, and what runs it."""
        voices = voice_files.VOICES_SHA256
        return f"{MODEL_SHA256[:12]} {voices[:12]} {RUNTIME} {installed_version(RUNTIME)}"

    def problem(self) -> str:
        """Return "" where the engine can speak, else one sentence with the remedy."""
        try:
            model.check()
        except NoVoice as lack:
            return str(lack)
        return ""

    def synthesise(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return a whole over, 24 kHz; the same arguments give the same samples on one machine.

        The seed changes nothing. Another processor gives another sound of the same voice and times,
        since the model scales its activations to 8 bits as it runs.
        Raises: NoVoice where a package is missing, not the pinned one, or fails; UserError where
        the operator's voice, accent or tract is not one of this engine.
        """
        vector, usual_hz = voice_files.voice(operator.voice)
        low, high = TRACT_RANGE
        if not low <= operator.formant_scale <= high:
            raise UserError(
                f"tract {operator.formant_scale:g} is out of range; choose {low:g} to {high:g}"
            )
        sounds, spans, at_s = [], list[WordSpan](), 0.0
        for piece in pieces(words, lambda say: phonemes_of_word(say, operator.accent)):
            sound, found = _utter(piece, operator, vector, usual_hz)
            spans += [(say, a + at_s, b + at_s) for say, a, b in found]
            sounds.append(sound)
            at_s += len(sound) / RATE_HZ
        whole = np.concatenate(sounds)
        return finish_clip(whole, RATE_HZ, spans)


@cache
def studio_symbol_numbers() -> dict[str, int]:
    """Return the model's symbols and their numbers."""
    data = files("drill.voices.engines.studio") / "tokens.toml"
    return dict(tomllib.loads(data.read_text("utf-8"))["tokens"])


def _utter(
    piece: Piece, operator: Operator, vector: NDArray[np.float32], usual_hz: float
) -> tuple[Sound, list[WordSpan]]:
    """Return the sound of a piece and when its words are heard in it."""
    text, bounds = text_of(piece)
    tract = round(operator.formant_scale * PARTS_OF_ONE)
    ratio = tract / PARTS_OF_ONE
    said = model.run(
        [0, *(studio_symbol_numbers()[symbol] for symbol in text), 0],
        vector,
        longer=[0, *(LONGER.get(symbol, 0) for symbol in text[:-1]), 0, 0],
        speed=operator.pace / ratio,
        scale=operator.pitch_hz / ratio / usual_hz**operator.melody,
        melody=operator.melody,
    )
    # Where each symbol ends; the first is the silence before.
    ends = np.cumsum(said.durations, dtype=np.float64) * TOKEN_S - EARLY_S
    sound: NDArray[np.floating] = said.samples
    if tract != PARTS_OF_ONE:
        from scipy.signal import resample_poly

        sound = resample_poly(sound, PARTS_OF_ONE, tract)
        ends = ends / ratio
    first_s, last_s = sound_bounds_s(sound, RATE_HZ)
    begin = max(0, round((first_s - MARGIN_S) * RATE_HZ))
    cut = sound[begin : round((last_s + MARGIN_S) * RATE_HZ)].astype(np.float64)
    moved_s = begin / RATE_HZ
    spans = [
        (say, float(ends[a]) - moved_s, float(ends[b]) + LINGER_S - moved_s) for say, a, b in bounds
    ]
    return with_pauses(cut, spans, [word.pause for word, _ in piece])


def with_pauses(
    sound: Sound, spans: Sequence[WordSpan], pauses: Sequence[str]
) -> tuple[Sound, list[WordSpan]]:
    """Return the sound with a silence of at least LEAST_PAUSE_S where a pause is, and the spans.

    It is made where the sound between two words is quietest, and is what parts their times. The
    last word ends with the sound.
    """
    level = envelope_db(sound, RATE_HZ)
    parts, done, added_s = [], 0, 0.0
    moved = [spans[0]]
    for place, (say, start_s, end_s) in enumerate(spans[1:], 1):
        before, began_s, _ = moved[-1]
        least_s = LEAST_PAUSE_S.get(pauses[place - 1], 0.0)
        onset_s = start_s + added_s
        if least_s:
            quiet_s, loud_s = _quietest(level, spans[place - 1][2] - REACH_S, start_s + REACH_S)
            moved[-1] = (before, began_s, quiet_s + added_s)
            need = max(0, round((least_s - (loud_s - quiet_s)) * RATE_HZ))
            if need:
                at = round((quiet_s + loud_s) / 2 * RATE_HZ)
                parts += [_ramped(sound[done:at], begins=done > 0), np.zeros(need)]
                added_s, done = added_s + need / RATE_HZ, at
            onset_s = min(loud_s, end_s - LEAST_WORD_S) + added_s  # "the" may begin unheard
        moved.append((say, onset_s, end_s + added_s))
    parts.append(_ramped(sound[done:], begins=done > 0, ends=False))
    last, began_s, _ = moved[-1]
    ended_s = last_sound_end_s(level, began_s - added_s, len(sound) / RATE_HZ) + added_s
    return np.concatenate(parts), [*moved[:-1], (last, began_s, ended_s)]


def _quietest(level_db: Sound, start_s: float, end_s: float) -> tuple[float, float]:
    """Return start and end of the longest quiet stretch, of the quietest frame if there is none."""
    first = int(max(0.0, start_s) / ENVELOPE_FRAME_S)
    gap = level_db[first : max(first + 1, int(end_s / ENVELOPE_FRAME_S))]
    quiet = runs(gap < QUIET_DB)
    lowest = int(np.argmin(gap))
    a, b = max(quiet, key=lambda run: run[1] - run[0]) if quiet else (lowest, lowest + 1)
    return (first + a) * ENVELOPE_FRAME_S, (first + b) * ENVELOPE_FRAME_S


def _ramped(sound: Sound, *, begins: bool, ends: bool = True) -> Sound:
    """Return the sound, coming from silence or going to it without a click."""
    count = min(round(RAMP_S * RATE_HZ), len(sound) // 2)
    ramp = 0.5 - 0.5 * np.cos(np.pi * (np.arange(count) + 0.5) / max(count, 1))
    result = sound.copy()
    if begins:
        result[:count] *= ramp
    if ends:
        result[len(sound) - count :] *= ramp[::-1]
    return result
