"""The recogniser pocketsphinx: a small engine with its own US English model, offline.

It is made for a clean, wideband microphone signal; after an SSB filter or in noise it recognises
little, so it cannot replace the far station's ears. The dither, the padding and the word insertion
penalty were chosen by measurement.

Source: pocketsphinx 5.1.1 with its model en-us (CMU Sphinx, BSD licence).
"""

import math
import sys
from collections import OrderedDict
from functools import cached_property
from typing import Any

import numpy as np

from drill.core.arrays import resample
from drill.core.errors import NoRecogniser
from drill.core.models import Clip
from drill.core.packages import pip_install_command
from drill.recogniser import RecognisedWord
from drill.recogniser.grammar import EPSILON, Arc, Grammar
from drill.recogniser.phones import arpabet_from_phonemes, special_pronunciations
from drill.voices.engines.natural.pronounce import phonemes_of_word
from drill.voices.versions import installed_version

SPHINX_RATE_HZ = 16_000
SPHINX_FRAME_S = 0.01
SPHINX_PADDING_S = 0.25
"""Quiet added before and after the clip."""
SPHINX_DITHER = 3e-3
"""Standard deviation of the added noise, far above one 16-bit step: the model was trained without
digital silence."""
SPHINX_PEAK = 0.8
"""Peak that a clip is scaled to, so that the dither is equally far below every clip."""
WORD_INSERTION_PENALTY = 1e-3
LANGUAGE_WEIGHT = 6.5
"""Exponent of the grammar's weights. Neighbouring frames sound alike, so acoustic likelihoods are
too confident; recognisers therefore raise the weights of words to a power."""
SCORE_SCALE = 1024
CONFIDENCE_MIDPOINT, CONFIDENCE_SPREAD = -5.0, 0.5
"""Logistic curve of the confidence: log score per frame at 0.5, and its scale."""
MAX_SEARCHES = 8
"""Number of compiled grammars that are kept."""
REMEDY = f"install it with: {pip_install_command('pocketsphinx==5.1.1')}"
if sys.version_info >= (3, 14):  # there is no wheel for these versions, so pip has to build it
    REMEDY = f"run faintcall with Python 3.13, or install a C compiler and CMake, then {REMEDY}"


class PocketSphinxRecogniser:
    """The engine pocketsphinx as a Recogniser."""

    name = "pocketsphinx"
    unsure_below = 0.1

    def __init__(self) -> None:
        """Prepare the recogniser; the model is loaded when it is first needed."""
        self._searches: OrderedDict[Grammar, str] = OrderedDict()
        self._search_count = 0

    @property
    def version(self) -> str:
        """The version of the package, which contains the model."""
        return installed_version("pocketsphinx")

    def problem(self) -> str:
        """Return "" if the engine works on this computer, else one sentence with the remedy."""
        try:
            _ = self._decoder
        except NoRecogniser as error:
            return str(error)
        return ""

    def recognise(self, clip: Clip, grammar: Grammar) -> tuple[RecognisedWord, ...]:
        """Return the words that fit best; see Recogniser. Raises: NoRecogniser, UserError."""
        samples = prepare_audio(clip)
        if not len(samples):
            return ()
        decoder = self._decoder
        decoder.activate_search(self._search_for(grammar))
        decoder.start_utt()
        decoder.process_raw(samples.tobytes(), full_utt=True)
        decoder.end_utt()
        if decoder.hyp() is None:
            return ()
        return tuple(
            _recognised_word(segment, clip.seconds)
            for segment in decoder.seg()
            # "<sil>" and the like are not words; "word(2)" is the second pronunciation of a word.
            if segment.word.split("(")[0] and not segment.word.startswith("<")
        )

    @cached_property
    def _decoder(self) -> Any:
        """The engine with its model and the special pronunciations. Raises: NoRecogniser."""
        try:
            import pocketsphinx  # slow to import
        except ImportError:
            raise NoRecogniser(f"the recogniser pocketsphinx is missing; {REMEDY}") from None
        try:
            # bestpath takes minutes in networks with loops, and its posteriors distinguish right
            # from wrong words no better than the scores do.
            decoder = pocketsphinx.Decoder(
                lm=None, wip=WORD_INSERTION_PENALTY, bestpath=False, loglevel="FATAL"
            )
        except (RuntimeError, OSError) as error:
            raise NoRecogniser(f"pocketsphinx cannot start ({error}); {REMEDY}") from None
        for word, pronunciations in special_pronunciations().items():
            _add_pronunciations(decoder, word, pronunciations)
        return decoder

    def _search_for(self, grammar: Grammar) -> str:
        """Return the name of the engine's search for a grammar; compile it unless it is kept."""
        if grammar in self._searches:
            self._searches.move_to_end(grammar)
            return self._searches[grammar]
        decoder = self._decoder
        for word in sorted(grammar.words):
            if not decoder.lookup_word(word):
                _add_pronunciations(decoder, word, _pronunciations(decoder, word))
        if len(self._searches) >= MAX_SEARCHES:
            _, oldest = self._searches.popitem(last=False)
            decoder.remove_search(oldest)
        self._search_count += 1
        name = f"{grammar.name}-{self._search_count}"
        transitions = [
            (arc.source, arc.target, arc.weight**LANGUAGE_WEIGHT)
            + ((arc.word,) if arc.word != EPSILON else ())
            for arc in close_epsilon_arcs(grammar)
        ]
        decoder.add_fsg(name, decoder.create_fsg(name, 0, grammar.final, transitions))
        self._searches[grammar] = name
        return name


def _recognised_word(segment: Any, clip_seconds: float) -> RecognisedWord:
    """Return a segment of the engine's result as a word with times within the clip."""
    start_s = segment.start_frame * SPHINX_FRAME_S - SPHINX_PADDING_S
    end_s = (segment.end_frame + 1) * SPHINX_FRAME_S - SPHINX_PADDING_S
    frames = segment.end_frame + 1 - segment.start_frame
    return RecognisedWord(
        say=segment.word.split("(")[0],
        start_s=round(min(max(start_s, 0.0), clip_seconds), 3),
        end_s=round(min(max(end_s, 0.0), clip_seconds), 3),
        confidence=round(word_confidence(segment.ascore, frames), 3),
    )


def word_confidence(score: float, frames: int) -> float:
    """Return the confidence of a word, 0 to 1, from its acoustic score.

    score: the engine's acoustic score of the word, a likelihood relative to the best that any
    phones of the model reach in each frame; the engine scales its logarithm by 1/1024. frames:
    length of the word. The log score per frame is about -2.3 for words that were spoken and -7 for
    others; 99 % of the former are above -3.9 and 95 % of the latter below -4.6 (280 and 40 words of
    seven voices).

    Source of the method: Witt and Young, Phone-level pronunciation scoring and assessment for
    interactive language learning, Speech Communication 30 (2000).
    """
    if score <= 0:
        return 0.0
    per_frame = SCORE_SCALE * math.log(score) / frames
    return 1 / (1 + math.exp(min(50.0, (CONFIDENCE_MIDPOINT - per_frame) / CONFIDENCE_SPREAD)))


def close_epsilon_arcs(grammar: Grammar) -> list[Arc]:
    """Return the arcs of a grammar with every chain of epsilon arcs also as a single arc.

    The engine passes at most one epsilon arc between two words. The weight of a chain is the
    largest product of weights along it.
    """
    epsilon: dict[int, dict[int, float]] = {}
    for arc in grammar.arcs:
        if arc.word == EPSILON:
            targets = epsilon.setdefault(arc.source, {})
            targets[arc.target] = max(arc.weight, targets.get(arc.target, 0.0))
    arcs = [arc for arc in grammar.arcs if arc.word != EPSILON]
    for source in epsilon:
        best, waiting = {source: 1.0}, [source]
        while waiting:
            state = waiting.pop()
            for target, weight in epsilon.get(state, {}).items():
                if best[state] * weight > best.get(target, 0.0):
                    best[target] = best[state] * weight
                    waiting.append(target)
        arcs += [
            Arc(source, target, EPSILON, weight)
            for target, weight in best.items()
            if target != source
        ]
    return arcs


def prepare_audio(clip: Clip) -> "np.ndarray[tuple[int], np.dtype[np.int16]]":
    """Return a clip as the engine needs it: 16 kHz, 16 bits, scaled, padded and dithered.

    The result is empty for a clip of digital silence.
    """
    peak = float(np.max(np.abs(clip.samples), initial=0.0))
    if not peak > 0:
        return np.zeros(0, "<i2")
    scaled = clip.samples.astype(np.float64) * (SPHINX_PEAK / peak)
    padded = np.pad(
        resample(scaled, clip.rate_hz, SPHINX_RATE_HZ), round(SPHINX_PADDING_S * SPHINX_RATE_HZ)
    )
    padded += SPHINX_DITHER * np.random.default_rng(0).standard_normal(len(padded))
    return np.asarray(np.clip(padded, -1, 1) * 32767, "<i2")


def _add_pronunciations(decoder: Any, word: str, pronunciations: tuple[str, ...]) -> None:
    """Add pronunciations of a word to those in the engine's dictionary."""
    first = 1
    while decoder.lookup_word(word if first == 1 else f"{word}({first})"):
        first += 1
    for number, phones in enumerate(pronunciations, first):
        decoder.add_word(word if number == 1 else f"{word}({number})", phones, True)


def _pronunciations(decoder: Any, word: str) -> tuple[str, ...]:
    """Return the pronunciation of a word that the dictionary lacks.

    The pronunciation of a hyphenated word is built from its parts if the dictionary has them all.
    Raises: UserError if the word cannot be pronounced.
    """
    parts = [decoder.lookup_word(part) for part in word.split("-")]
    if all(parts):
        return (" ".join(parts),)
    return (arpabet_from_phonemes(phonemes_of_word(word)),)
