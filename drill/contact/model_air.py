"""The air for the accelerated clock: overs have lengths and fading, but no sound."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drill.contact.air import OnAir, Participant, Reception, arrived_voices, samples
from drill.contact.overs import Over
from drill.contact.values import ContactValues
from drill.core.conditions import Fading
from drill.core.random_streams import random_stream
from drill.radio import AUDIO_RATE_HZ
from drill.radio.fading_taps import FadingTap
from phonetics.message import Word

FADE_STEP_S = 0.25
WORD_STEPS = 2
"""The mean of two steps is the mean over a word of half a second."""
TABLE_STEPS = 1 << 14
MIN_TAP_RATE_HZ = 40
TABLE_SEED = 7


class ModelAir:
    """Air without sound; fading: of every path."""

    def __init__(self, values: ContactValues, fading: Fading) -> None:
        """Compute the fading table, which all paths of this kind share."""
        self._speech = values.speech
        self._table = fade_table(fading, values.path.second_path_share)

    def key(self, participant: Participant, over: Over, number: int, start: int) -> OnAir:
        """Return an over with the mean lengths of its words. See Air."""
        speech = self._speech
        position_s = speech.lead_s
        times = []
        for word in over.words:
            length_s = self._word_s(word) * participant.pace
            times.append((start + samples(position_s), start + samples(position_s + length_s)))
            pause_s = {"": 0.0, ",": speech.comma_s, ".": speech.stop_s}[word.pause]
            position_s += length_s + pause_s
        return OnAir(
            participant=participant,
            over=over,
            number=number,
            start=start,
            end=start + samples(position_s + speech.tail_s),
            times=tuple(times),
        )

    def _word_s(self, word: Word) -> float:
        if not word.means:
            return self._speech.procedure_word_s
        return self._speech.digit_s if word.means.isdigit() else self._speech.code_word_s

    def receive(
        self, end: str, on_air: Sequence[OnAir], start: int, stop: int, *, told: Sequence[OnAir]
    ) -> Reception:
        """Return the words that arrive, without sound. See Air."""
        voices = arrived_voices(end, on_air, told, start, self.fade_db)
        return Reception(start=start, end=stop, voices=voices)

    def fade_db(self, over: OnAir, begin: int, finish: int) -> float:
        """Return the gain of an over's path in dB between two times in samples."""
        place = int((begin + finish) / 2 / AUDIO_RATE_HZ / FADE_STEP_S)
        return float(self._table[(over.participant.path_seed + place) % len(self._table)])


@lru_cache(maxsize=16)
def fade_table(fading: Fading, second_path_share: float) -> NDArray[np.float64]:
    """Return the gain of a path in dB, shape (TABLE_STEPS,), one value per FADE_STEP_S.

    Each value is the mean power over a word. Only a share of the second path's power counts,
    because the two paths together do not fill the whole band at every moment. A path reads the
    table from a random position. Source of the taps: drill.radio.fading_taps.
    """
    if fading.spread_hz == 0:
        return np.zeros(TABLE_STEPS)
    rate_hz = max(MIN_TAP_RATE_HZ, 8 * int(np.ceil(fading.spread_hz)))
    per_step = round(rate_hz * FADE_STEP_S)
    specular = 0.0
    if fading.specular_db is not None:
        specular = 1 / (1 + 10 ** (-fading.specular_db / 10))
    power = np.zeros(TABLE_STEPS)
    shares = np.array([1.0, second_path_share * 10 ** (fading.second_db / 10)])
    for number, share in enumerate(shares / shares.sum()):
        rng = random_stream(TABLE_SEED, f"contact fading {number}")
        tap = FadingTap(fading.spread_hz, rate_hz, rng).take(TABLE_STEPS * per_step)
        if not number:
            tap = np.sqrt(specular) + np.sqrt(1 - specular) * tap
        power += share * np.mean(np.abs(tap.reshape(TABLE_STEPS, per_step)) ** 2, axis=1)
    words = sum(np.roll(power, -step) for step in range(WORD_STEPS)) / WORD_STEPS
    return np.asarray(10 * np.log10(np.maximum(words, 1e-6)))
