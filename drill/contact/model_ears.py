"""Model ears: the probability that a word is copied is a psychometric function of its SNR.

Source of the form: a logistic function with lapse rate, as in drill.psychometrics.curve. The
figures are those of values.toml: section ears for a trained listener, section recogniser for the
far end's recogniser, to whose measured curve they are fitted (tests/tools/contact_ears.py).
"""

import math
from collections.abc import Callable
from random import Random

from drill.contact.air import ArrivedWord, Reception
from drill.contact.hearing import HeardOver, HeardToken
from drill.contact.values import EarValues

CONFUSED_WITH = {
    "A": "R", "B": "T", "C": "E", "D": "U", "E": "M", "F": "X", "G": "O", "H": "N", "I": "L",
    "J": "G", "K": "Q", "L": "K", "M": "I", "N": "V", "O": "H", "P": "A", "Q": "K", "R": "P",
    "S": "Z", "T": "B", "U": "S", "V": "N", "W": "Y", "X": "B", "Y": "T", "Z": "U",
    "0": "4", "1": "9", "2": "3", "3": "2", "4": "5", "5": "9", "6": "8", "7": "1", "8": "6",
    "9": "5", "/": "S",
}  # fmt: skip
"""A word that sounds alike: shares its stressed vowel, or its rhythm, for each character.

Common practice, no source; five and nine are known to be confused (ICAO Annex 10
Volume II, 5.2.1.4.3.1, has "fife" and "niner" for this reason).
"""
CONFIDENCE = 0.9
"""Confidence of a word that was made out, correctly or not; the parameters count doubt as a
miss."""


class ModelEars:
    """Ears that copy words at random, with a separate random stream for each over.

    values: section ears or recogniser. offset_db: threshold of this listener above the mean.
    streams: returns the random stream of one over; arguments are speaker and number of the over.
    """

    name = "model"

    def __init__(
        self, values: EarValues, offset_db: float, streams: Callable[[str, int], Random]
    ) -> None:
        """Store the parameters."""
        self._values = values
        self.doubt_below = values.doubt_below
        self._threshold_db = values.threshold_db + offset_db
        self._streams = streams

    def word_probability(self, snr_db: float) -> float:
        """Return the probability that a word is copied at an SNR."""
        exponent = self._values.slope_per_db * (snr_db - self._threshold_db)
        return (1 - self._values.lapse) / (1 + math.exp(-max(-60.0, min(60.0, exponent))))

    def notices(self, level_db: float, draw: float) -> bool:
        """Return whether a voice is noticed. See Ears."""
        above_db = level_db - self._threshold_db - self._values.notice_db
        exponent = self._values.notice_slope_per_db * above_db
        return draw < 1 / (1 + math.exp(-max(-60.0, min(60.0, exponent))))

    def listen(self, reception: Reception) -> tuple[HeardOver, ...]:
        """Return the words copied from every voice. See Ears."""
        result = []
        for voice in reception.voices:
            rng = self._streams(voice.speaker, voice.number)
            copied = [self._token(word, rng) for word in voice.words]
            tokens = tuple(token for token in copied if token is not None)
            mean_db = sum(w.snr_db for w in voice.words) / max(1, len(voice.words))
            result.append(HeardOver(tokens=tokens, level_db=mean_db))
        return tuple(result)

    def _token(self, arrived: ArrivedWord, rng: Random) -> HeardToken | None:
        """Return the token for a word; None for a missed procedure word."""
        # Every word uses three draws, so that another SNR does not shift the draws of later words.
        copied, mistaken, place = rng.random(), rng.random(), rng.random()
        text, confidence = arrived.word.means or arrived.word.say, CONFIDENCE
        if copied >= self.word_probability(arrived.snr_db):
            share = (
                self._values.wrong_under_voices if arrived.crowded else self._values.wrong_in_noise
            )
            if mistaken < share and arrived.word.means:
                text = _mistaken(text, place)
            elif not arrived.word.means:
                return None
            else:
                text, confidence = "", 0.0
        return HeardToken(
            text=text, confidence=confidence, start_s=arrived.start_s, end_s=arrived.end_s
        )


def _mistaken(text: str, place: float) -> str:
    """Return the characters with one of them replaced by one that sounds similar."""
    index = int(place * len(text))
    return text[:index] + CONFUSED_WITH.get(text[index], "E") + text[index + 1 :]
