"""The studio voice: 54 voices of a larger model, available with the extra `studio`.

Synthesis takes about half as long as playing the over, so overs are prefetched. Pitch and melody
are changed inside the model. Formants are scaled by resampling the sound, with pitch and pace
changed inversely beforehand. The engine ignores `breath_db` and the style's first formant.
"""

import tomllib
from collections.abc import Sequence
from functools import cache, partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import FloatArray
from drill.core.errors import NoVoice
from drill.core.models import Clip, Operator
from drill.core.validation import within
from drill.voices.effects.finish import WordSpan, finish_clip, sound_bounds_s
from drill.voices.engines.chunks import Chunk, split_into_chunks, symbols_of
from drill.voices.engines.natural.pronounce import PHONEME_TABLES, phonemes_of_word
from drill.voices.engines.studio.model import (
    STUDIO_MODEL_SHA256,
    check_model,
    run_studio_model,
)
from drill.voices.engines.studio.pauses import lengthen_pauses
from drill.voices.engines.studio.voice_files import STUDIO_VOICES_SHA256, VOICE_TABLE, find_voice
from drill.voices.people.ways import ways_of_operator
from drill.voices.versions import digest_of_tables, installed_version
from phonetics.message import Word

_SYMBOLS = Path(__file__).with_name("tokens.toml")
_TABLES = (*PHONEME_TABLES, _SYMBOLS, VOICE_TABLE)
_FORMANT_SCALE_RANGE = (0.8, 1.25)
_RATE_HZ = 24_000
_DURATION_UNIT_S = 0.025
_LAG_S = 0.09  # the durations lag the sound; median against a recogniser's segmentation
_END_EARLIER_S = 0.04  # the ends of words lag by this much less than their starts
_LENGTHENING = {",": 2.0, ".": 3.0}  # lengthening of the sound before a pause, in units of 25 ms
_MARGIN_S = 0.1  # silence kept at the ends of a chunk
_SCALE_STEPS = 100  # the formant scale is rounded to 1/100, a ratio that can be resampled


class StudioEngine:
    """Engine of the studio voices. Thread-safe; all objects share one model."""

    name = "studio"
    repeatable = True
    sound_version = 1

    @property
    def version(self) -> str:
        """Return the versions that determine the sound: code, model, voices, tables and runtime."""
        digests = f"{STUDIO_MODEL_SHA256[:12]} {STUDIO_VOICES_SHA256[:12]}"
        runtime = f"onnxruntime {installed_version('onnxruntime')}"
        return f"{self.sound_version} {digests} {digest_of_tables(*_TABLES)} {runtime}"

    def problem(self) -> str:
        """Return "" if the engine can speak, else one sentence with the remedy."""
        try:
            check_model()
        except NoVoice as error:
            return str(error)
        return ""

    def synthesise(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return one over at 24 kHz; the same arguments give the same samples on one machine.

        The seed has no effect. Other processors give slightly different samples, because the model
        rounds its activations to 8 bits in single precision.

        Raises: NoVoice if a package is missing, not the pinned version, or fails; UserError if the
        operator's voice or accent is unknown or the formant scale is not from 0.8 to 1.25.
        """
        vector, voice_pitch_hz = find_voice(operator.voice)
        within(
            "formant_scale", operator.formant_scale, *_FORMANT_SCALE_RANGE, label="formant scale"
        )
        phonemes_of = partial(
            phonemes_of_word, accent=operator.accent, ways=ways_of_operator(operator)
        )
        chunks = split_into_chunks(words, phonemes_of)
        sounds: list[FloatArray] = []
        spans: list[WordSpan] = []
        start_s = 0.0
        for chunk in chunks:
            sound, chunk_spans = _synthesise_chunk(chunk, operator, vector, voice_pitch_hz)
            spans += [(say, first + start_s, last + start_s) for say, first, last in chunk_spans]
            sounds.append(sound)
            start_s += len(sound) / _RATE_HZ
        return finish_clip(np.concatenate(sounds), _RATE_HZ, spans)


@cache
def studio_symbol_numbers() -> dict[str, int]:
    """Return the number of each symbol that the model reads."""
    return dict(tomllib.loads(_SYMBOLS.read_text("utf-8"))["tokens"])


def _synthesise_chunk(
    chunk: Chunk, operator: Operator, vector: NDArray[np.float32], voice_pitch_hz: float
) -> tuple[FloatArray, list[WordSpan]]:
    """Return the sound of a chunk and the time of each word in seconds from its start."""
    symbols, bounds = symbols_of(chunk)
    numbers = studio_symbol_numbers()
    scale_steps = round(operator.formant_scale * _SCALE_STEPS)
    scale = scale_steps / _SCALE_STEPS
    output = run_studio_model(
        [0, *(numbers[symbol] for symbol in symbols), 0],
        vector,
        lengthening=[0, *(_LENGTHENING.get(symbol, 0) for symbol in symbols[:-1]), 0, 0],
        speed=operator.pace / scale,
        pitch_scale=operator.pitch_hz / scale / voice_pitch_hz**operator.melody,
        melody=operator.melody,
    )
    # The end of each symbol; the first symbol is the silence before the words.
    ends_s = np.cumsum(output.durations, dtype=np.float64) * _DURATION_UNIT_S - _LAG_S
    sound: NDArray[np.floating] = output.samples
    if scale_steps != _SCALE_STEPS:
        from scipy.signal import resample_poly

        sound = resample_poly(sound, _SCALE_STEPS, scale_steps)
        ends_s = ends_s / scale
    first_s, last_s = sound_bounds_s(sound, _RATE_HZ)
    begin = max(0, round((first_s - _MARGIN_S) * _RATE_HZ))
    trimmed = sound[begin : round((last_s + _MARGIN_S) * _RATE_HZ)].astype(np.float64)
    begin_s = begin / _RATE_HZ
    spans = [
        (say, float(ends_s[first]) - begin_s, float(ends_s[last]) + _END_EARLIER_S - begin_s)
        for say, first, last in bounds
    ]
    return lengthen_pauses(trimmed, _RATE_HZ, spans, [word.pause for word, _ in chunk])
