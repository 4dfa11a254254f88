"""The recogniser `own`: the project's network, made for single-sideband voices in noise.

It recognises code words, figures and the words around them, both from a clean microphone and at the
far end of a radio path. A grammar limits the words; it can also allow any sequence of known words.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from drill.core.errors import NoRecogniser
from drill.core.models import Clip
from drill.recogniser import RecognisedWord
from drill.recogniser.grammar import Grammar
from drill.recogniser.own.adaptation import Adaptation
from drill.recogniser.own.alignment import align_labels, word_times
from drill.recogniser.own.beam import Hypothesis, beam_search, unit_log_probabilities
from drill.recogniser.own.calibration import SEQUENCE, UNIT, Calibration
from drill.recogniser.own.confidence import (
    RUNNERS_UP,
    Rival,
    likeliest_units,
    share_of_best,
    territories,
    unit_posteriors,
)
from drill.recogniser.own.front_end import Features, log_mel
from drill.recogniser.own.model import AcousticModel, Posteriors, load_model
from drill.recogniser.own.word_network import NetworkCache, WordNetwork

DITHER = 1e-3
"""Noise added to every clip, relative to its RMS, because there was no digital silence in
training."""
PADDING_S = 0.2
"""Silence added at both ends, because the network may emit the last word after its sound."""


@dataclass(frozen=True, kw_only=True, slots=True)
class RecognisedUnit:
    """A word of the result, with its alternatives.

    name: the character that the word represents, or the word itself if it represents none.
    confidence: share of right answers among results like this one, 0 to 1. rivals: other units that
    the grammar allows there, likeliest first.
    """

    word: RecognisedWord
    name: str
    confidence: float
    rivals: tuple[Rival, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Recognition:
    """The likeliest words of a clip. confidence: probability that all units are right."""

    units: tuple[RecognisedUnit, ...]
    confidence: float

    @property
    def text(self) -> str:
        """Return the characters of the units, joined; words that represent none are left out."""
        return "".join(unit.name for unit in self.units if len(unit.name) == 1)


class OwnRecogniser:
    """The engine `own`. Thread-safe; all objects share one model."""

    name = "own"
    unsure_below = 0.4  # doubts hardly any right word of a person in quiet (human_recordings.md)

    def __init__(
        self,
        model: AcousticModel | None = None,
        *,
        adaptation: Adaptation | None = None,
        sequence_calibration: Calibration = SEQUENCE,
        unit_calibration: Calibration = UNIT,
    ) -> None:
        """Take a model; by default the bundled one is loaded at the first clip.

        The calibrations turn the network's probabilities into confidences.
        """
        self._model = model
        self._adaptation = adaptation
        self._sequence, self._unit = sequence_calibration, unit_calibration

    @property
    def version(self) -> str:
        """Return the digest of the model, marked if it is adapted to a voice."""
        return self.model.digest[:12] + ("+voice" if self._adaptation else "")

    @property
    def model(self) -> AcousticModel:
        """Return the model. Raises: NoRecogniser."""
        return self._model or load_model()

    @cached_property
    def _networks(self) -> NetworkCache:
        return NetworkCache(self.model.vocabulary)

    def problem(self) -> str:
        """Return "" if the engine works on this computer, else one sentence with the remedy."""
        try:
            _ = self.model
        except NoRecogniser as error:
            return str(error)
        return ""

    def recognise(self, clip: Clip, grammar: Grammar) -> tuple[RecognisedWord, ...]:
        """Return the words that fit best. Raises: NoRecogniser, UserError for an unknown word."""
        return tuple(unit.word for unit in self.transcribe(clip, grammar).units)

    def transcribe(self, clip: Clip, grammar: Grammar) -> Recognition:
        """Return the likeliest words with their characters, confidences and rivals.

        clip: at any rate from 6 kHz. The result has no units if nothing in the grammar fits.
        Raises: NoRecogniser if the model cannot be used; UserError for a word that it does not
        know.
        """
        network = self._networks.network(grammar)
        features = clip_features(clip)
        if not len(features):
            return Recognition(units=(), confidence=0.0)
        return self.decode(self._posteriors(features), network, clip.seconds)

    def _posteriors(self, features: Features) -> Posteriors:
        """Return the posteriors of features, adapted if there is an adaptation."""
        if self._adaptation is None:
            return self.model.run(features)
        posteriors, hidden = self.model.run_with_hidden(features)
        return replace(posteriors, words=self._adaptation.apply(posteriors.words, hidden))

    def decode(self, posteriors: Posteriors, network: WordNetwork, seconds: float) -> Recognition:
        """Return the likeliest units of posteriors. seconds: length of the clip."""
        log_probabilities = unit_log_probabilities(posteriors.words, network)
        hypotheses = beam_search(log_probabilities, network)
        if not hypotheses or not hypotheses[0].units:
            return Recognition(units=(), confidence=0.0)
        units = self._units(hypotheses, log_probabilities, posteriors, network, seconds)
        return Recognition(
            units=units, confidence=self._sequence.share_right(share_of_best(hypotheses))
        )

    def _units(
        self,
        hypotheses: Sequence[Hypothesis],
        log_probabilities: "np.ndarray[tuple[int, int], np.dtype[np.float64]]",
        posteriors: Posteriors,
        network: WordNetwork,
        seconds: float,
    ) -> tuple[RecognisedUnit, ...]:
        best = hypotheses[0].units
        spans = align_labels(log_probabilities, [unit + 1 for unit in best])
        owned = territories(spans, len(log_probabilities))
        tokens, words = [], []
        for unit, span in zip(best, spans, strict=True):
            rows = posteriors.words[span.first : span.last + 1]
            token, word = max(
                network.units[unit].words, key=lambda entry: float(rows[:, entry[0]].max())
            )
            tokens.append(token)
            words.append(word)
        readings = [self.model.vocabulary.reading(token) for token in tokens]
        times = word_times(posteriors.phonemes, readings, PADDING_S, seconds)
        result: list[RecognisedUnit] = []
        for place, unit in enumerate(best):
            if not network.units[unit].whole:
                continue
            allowed = [
                rival
                for rival in likeliest_units(log_probabilities, owned[place], unit)
                if network.fits(best, place, rival)
            ]
            chances = unit_posteriors(log_probabilities, owned[place], allowed)
            own = self._unit.share_right(float(chances[allowed.index(unit)]))
            start_s = times[_first_part(best, place, network)][0]
            order = np.argsort(-chances[:-1], kind="stable")
            rivals = tuple(
                Rival(network.units[allowed[k]].name, round(float(chances[k]), 4))
                for k in order[: RUNNERS_UP + 1]
                if allowed[k] != unit
            )[:RUNNERS_UP]
            spoken = RecognisedWord(
                say=words[place], start_s=round(start_s, 3), end_s=round(times[place][1], 3),
                confidence=round(own, 3),
            )  # fmt: skip
            result.append(
                RecognisedUnit(
                    word=spoken, name=network.units[unit].name, confidence=round(own, 4),
                    rivals=rivals,
                )
            )  # fmt: skip
        return tuple(result)


def clip_features(clip: Clip) -> Features:
    """Return the features of a clip, with a little noise and with silence added at its ends.

    The result has no frames for digital silence or an empty clip.
    """
    samples = np.asarray(clip.samples, np.float64)
    level = float(np.sqrt(np.mean(samples**2))) if len(samples) else 0.0
    if not level > 0:
        return np.zeros((0, 0), np.float32)
    padded = np.pad(samples, round(PADDING_S * clip.rate_hz))
    padded += DITHER * level * np.random.default_rng(0).standard_normal(len(padded))
    return log_mel(padded, clip.rate_hz)


def _first_part(units: Sequence[int], place: int, network: WordNetwork) -> int:
    """Return the index of the first token of the word whose last token has the index `place`."""
    while place and not network.units[units[place - 1]].whole:
        place -= 1
    return place
