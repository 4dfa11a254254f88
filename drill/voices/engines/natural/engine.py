"""The natural voice: the model in the wheel of hibari-tts, turned into many speakers.

The model takes phonemes, so the pronunciation does not depend on how the package reads text. Word
times are derived from the durations that the model computes.
"""

from collections.abc import Sequence
from functools import partial

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import NoVoice
from drill.core.models import Clip, Operator
from drill.voices.effects.finish import WordSpan, envelope_db, finish_clip, last_sound_end_s
from drill.voices.engines.chunks import Chunk, split_into_chunks, symbols_of
from drill.voices.engines.natural.bend import apply_operator
from drill.voices.engines.natural.model import (
    NATURAL_MODEL_SHA256,
    load_network,
    natural_model_content,
    natural_symbol_numbers,
)
from drill.voices.engines.natural.network import SpectralFrames
from drill.voices.engines.natural.pronounce import PHONEME_TABLES, phonemes_of_word
from drill.voices.people.ways import ways_of_operator
from drill.voices.versions import digest_of_tables, installed_version
from phonetics.message import Word

_TABLES = PHONEME_TABLES
_RATE_HZ = 24_000
_DURATION_UNIT_S = 0.025
_LAG_S = 0.085  # the durations lag the sound; median against a recogniser's segmentation
_END_EARLIER_S = 0.03  # the ends of words lag by this much less than their starts
_MIN_PAUSE_S = 0.06  # words without a pause between them are at most one blank of 50 ms apart


class NaturalEngine:
    """Engine of the natural voices. Thread-safe; all objects share one model."""

    name = "natural"
    repeatable = True
    sound_version = 2

    @property
    def version(self) -> str:
        """Return what determines the sound: versions of code, model, synthesis and tables."""
        synthesis = f"hibari-tts {installed_version('hibari-tts')}"
        tables = digest_of_tables(*_TABLES)
        return f"{self.sound_version} {NATURAL_MODEL_SHA256[:12]} {synthesis} {tables}"

    def problem(self) -> str:
        """Return "" if the engine can speak, else one sentence with the remedy."""
        try:
            natural_model_content()
        except NoVoice as error:
            return str(error)
        return ""

    def synthesise(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return one over at 24 kHz; the same arguments give the same samples on one machine.

        Other processors differ by at most 1 LSB of 16 bits (AVX2 and SSE were emulated).

        Raises: NoVoice if hibari-tts is missing or not the pinned version; UserError if the accent
        is unknown or a word cannot be read.
        """
        from hibari import dsp

        phonemes_of = partial(
            phonemes_of_word, accent=operator.accent, ways=ways_of_operator(operator)
        )
        chunks = split_into_chunks(words, phonemes_of)
        rng = np.random.default_rng(seed)
        sounds: list[NDArray[np.float32]] = []
        spans: list[WordSpan] = []
        start_s = 0.0
        for chunk in chunks:
            frames, chunk_spans = _run_network(chunk, operator.pace)
            frames = apply_operator(frames, operator)
            sound = dsp.synth(
                frames.harmonic,
                frames.harmonic_phase,
                frames.noise,
                frames.residue,
                frames.residue_phase,
                frames.pitch_hz,
                rng,
            )
            spans += [(say, first + start_s, last + start_s) for say, first, last in chunk_spans]
            sounds.append(sound)
            start_s += len(sound) / _RATE_HZ
        over = np.concatenate(sounds)
        return finish_clip(over, _RATE_HZ, _ends_at_silence(over, spans))


def _run_network(chunk: Chunk, pace: float) -> tuple[SpectralFrames, list[WordSpan]]:
    """Return the frames of a chunk and the time of each word in seconds from its start."""
    symbols, bounds = symbols_of(chunk)
    numbers = natural_symbol_numbers()
    output = load_network().run([0, *(numbers[symbol] for symbol in symbols), 0], pace)
    # The end of each symbol; the first symbol is the silence before the words.
    ends_s = np.cumsum(output.durations) * _DURATION_UNIT_S - _LAG_S
    spans = [
        (say, float(ends_s[first]), float(ends_s[last]) + _END_EARLIER_S)
        for say, first, last in bounds
    ]
    return output.frames, spans


def _ends_at_silence(sound: NDArray[np.float32], spans: Sequence[WordSpan]) -> list[WordSpan]:
    """Return the spans with corrected ends.

    Before a pause the model stretches the last symbol, so there the word ends with its last sound.
    """
    level_db = envelope_db(sound, _RATE_HZ)
    limits_s = [start_s for _, start_s, _ in spans[1:]] + [len(sound) / _RATE_HZ]
    return [
        (
            say,
            start_s,
            last_sound_end_s(level_db, start_s, limit_s)
            if limit_s - end_s > _MIN_PAUSE_S
            else min(end_s, limit_s),
        )
        for (say, start_s, end_s), limit_s in zip(spans, limits_s, strict=True)
    ]
