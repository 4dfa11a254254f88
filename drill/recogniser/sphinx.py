"""The listener pocketsphinx: a small recogniser with its own US English model, offline.

It hears a clean, wideband microphone; behind an SSB filter or in noise it understands little, so it
is no stand-in for the far station. Settings were measured: a dither well above the sixteenth bit
(the model has never met digital silence), a quarter of a second of quiet at either end, and a word
insertion penalty. Source: pocketsphinx 5.1.1 with its model en-us (CMU Sphinx, BSD licence).
"""

import math
from collections import OrderedDict
from functools import cached_property
from typing import Any

import numpy as np

from drill.core.arrays import resample
from drill.core.errors import NoRecogniser, pip_install_command
from drill.core.models import Clip
from drill.recogniser import HeardWord
from drill.recogniser.grammar import FREE, Arc, Grammar
from drill.recogniser.phones import arpabet, special_readings

RATE_HZ = 16_000
FRAME_S = 0.01
PADDING_S = 0.25
DITHER = 3e-3
LOUD = 0.8
"""Peak that a take is brought to, so that the dither stays as far below it."""
INSERTION = 1e-3
LANGUAGE = 6.5
"""Power of the weights, as speech recognisers have it: sounds of neighbouring frames are alike, so
that their likelihoods count for too much beside those of words."""
SCORE_SCALE = 1024
EVEN, SPREAD = -5.0, 0.5
"""Of the confidence: the score a frame where it is a half, and how quickly it changes there."""
KEPT = 8
"""Grammars kept compiled."""
REMEDY = f"the listener needs pocketsphinx: {pip_install_command('pocketsphinx==5.1.1')}"


class PocketSphinx:
    """The listener of that name."""

    name = "pocketsphinx"
    unsure = 0.1

    def __init__(self) -> None:
        """Keep no model before the first word is to be heard."""
        self._searches: OrderedDict[Grammar, str] = OrderedDict()
        self._count = 0

    @property
    def version(self) -> str:
        """Return the version of the package, which holds the model."""
        from drill.voices.versions import installed_version

        return installed_version("pocketsphinx")

    def problem(self) -> str:
        """Return "" where it works, else how to install it."""
        try:
            _ = self._decoder
        except NoRecogniser as lack:
            return str(lack)
        return ""

    def hear(self, clip: Clip, grammar: Grammar) -> tuple[HeardWord, ...]:
        """Return the words that fit best. Raises: NoRecogniser, UserError."""
        sound = prepared(clip)
        if not len(sound):
            return ()
        decoder = self._decoder
        decoder.activate_search(self._search(grammar))
        decoder.start_utt()
        decoder.process_raw(sound.tobytes(), full_utt=True)
        decoder.end_utt()
        if decoder.hyp() is None:
            return ()
        found = []
        for part in decoder.seg():
            word = part.word.split("(")[0]
            if word.startswith("<") or not word:
                continue
            start_s = part.start_frame * FRAME_S - PADDING_S
            end_s = (part.end_frame + 1) * FRAME_S - PADDING_S
            found.append(
                HeardWord(
                    say=word,
                    start_s=round(min(max(start_s, 0.0), clip.seconds), 3),
                    end_s=round(min(max(end_s, 0.0), clip.seconds), 3),
                    confidence=round(
                        confidence(part.ascore, part.end_frame + 1 - part.start_frame), 3
                    ),
                )
            )
        return tuple(found)

    @cached_property
    def _decoder(self) -> Any:
        try:
            import pocketsphinx
        except ImportError:
            raise NoRecogniser(REMEDY) from None
        try:
            # Its search for the best path through all it met takes minutes in a network that goes
            # back, and its posteriors tell right from wrong no better than the scores do.
            decoder = pocketsphinx.Decoder(lm=None, wip=INSERTION, bestpath=False, loglevel="FATAL")
        except (RuntimeError, OSError) as error:
            raise NoRecogniser(f"pocketsphinx cannot start ({error}); {REMEDY}") from None
        for word, readings in special_readings().items():
            _add(decoder, word, readings)
        return decoder

    def _search(self, grammar: Grammar) -> str:
        """Return the name of the search that the engine made of a grammar, one of the last few."""
        if grammar in self._searches:
            self._searches.move_to_end(grammar)
            return self._searches[grammar]
        decoder = self._decoder
        for word in sorted(grammar.words):
            if not decoder.lookup_word(word):
                _add(decoder, word, _readings(decoder, word))
        if len(self._searches) >= KEPT:
            _, oldest = self._searches.popitem(last=False)
            decoder.remove_search(oldest)
        self._count += 1
        name = f"{grammar.name}-{self._count}"
        steps = [
            (arc.source, arc.target, arc.weight**LANGUAGE)
            + ((arc.word,) if arc.word != FREE else ())
            for arc in closed(grammar)
        ]
        decoder.add_fsg(name, decoder.create_fsg(name, 0, grammar.final, steps))
        self._searches[grammar] = name
        return name


def confidence(score: float, frames: int) -> float:
    """Return how well a word's sound bears it out, 0 to 1.

    score: the engine's for the word, a power of e that it holds in 1/1024: a likelihood against the
    best that any sounds of the model reach in each frame. Its logarithm a frame is about -2.3 for
    words that were said and -7 for others; 99 % of the former lie above -3.9, 95 % of the latter
    below -4.6 (280 and 40 words of seven voices). Source of the idea: Witt and Young, Phone-level
    pronunciation scoring, Speech Communication 30 (2000).
    """
    if score <= 0:
        return 0.0
    by_frame = SCORE_SCALE * math.log(score) / frames
    return 1 / (1 + math.exp(min(50.0, (EVEN - by_frame) / SPREAD)))


def closed(grammar: Grammar) -> list[Arc]:
    """Return the arcs, with a free one wherever several free ones follow each other.

    The engine passes one free arc between two words, not a chain of them.
    """
    free: dict[int, dict[int, float]] = {}
    for arc in grammar.arcs:
        if arc.word == FREE:
            ways = free.setdefault(arc.source, {})
            ways[arc.target] = max(arc.weight, ways.get(arc.target, 0.0))
    found = [arc for arc in grammar.arcs if arc.word != FREE]
    for source in free:
        best, waiting = {source: 1.0}, [source]
        while waiting:
            at = waiting.pop()
            for target, weight in free.get(at, {}).items():
                if best[at] * weight > best.get(target, 0.0):
                    best[target] = best[at] * weight
                    waiting.append(target)
        found += [Arc(source, to, FREE, weight) for to, weight in best.items() if to != source]
    return found


def prepared(clip: Clip) -> "np.ndarray[tuple[int], np.dtype[np.int16]]":
    """Return a clip as the engine takes it: 16 kHz, at a set peak, quiet around it, dithered."""
    peak = float(np.max(np.abs(clip.samples), initial=0.0))
    if not peak > 0:
        return np.zeros(0, "<i2")
    scaled = clip.samples.astype(np.float64) * (LOUD / peak)
    sound = resample(scaled, clip.rate_hz, RATE_HZ)
    padded = np.pad(sound, round(PADDING_S * RATE_HZ))
    padded += DITHER * np.random.default_rng(0).standard_normal(len(padded))
    return np.asarray(np.clip(padded, -1, 1) * 32767, "<i2")


def _add(decoder: Any, word: str, readings: tuple[str, ...]) -> None:
    """Give a word these readings, beside those that the dictionary has for it."""
    first = 1
    while decoder.lookup_word(word if first == 1 else f"{word}({first})"):
        first += 1
    for place, phones in enumerate(readings, first):
        decoder.add_word(word if place == 1 else f"{word}({place})", phones, True)


def _readings(decoder: Any, word: str) -> tuple[str, ...]:
    """Return how a word that the dictionary lacks is said: by its parts, or by the voice's reading.

    Raises: UserError where it cannot be read.
    """
    parts = [decoder.lookup_word(part) for part in word.split("-")]
    if all(parts):
        return (" ".join(parts),)
    from drill.voices.engines.natural.pronounce import phonemes_of_word

    return (arpabet(phonemes_of_word(word)),)
