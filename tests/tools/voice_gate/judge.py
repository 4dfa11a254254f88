"""How well a recogniser understands an operator: words in quiet, and whole calls in noise."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

import numpy as np

from drill.core.conditions import Conditions
from drill.core.models import Clip, Operator
from drill.radio.channel import simulate
from drill.recogniser.language import call_grammar
from drill.recogniser.own.engine import OwnRecogniser
from phonetics.message import Word
from tests.tools.recogniser_sweep.tables import threshold_db
from tests.tools.train_recogniser.edits import edit_distance
from tests.tools.voice_gate.calls import CALLS, TUNING_SEED, call_words, compose_gate_calls
from tests.tools.voice_gate.recognisers import GateRecogniser, gate_recogniser

REQUIRED_SHARE = 0.9
"""Share of words that each recogniser has to understand."""
MAX_ABOVE_MEDIAN_DB = 3.0
"""How many dB an operator's threshold may exceed the median of the natural operators."""
SNRS_DB = (3.0, 0.0, -2.0, -4.0, -6.0, -8.0)
NOISES = 2
"""Number of random noises that each call is mixed with at each SNR."""

SpeakFunction = Callable[[Sequence[Word], Operator, int], Clip]
"""Speaks words as an operator, with a seed."""


@dataclass(frozen=True, kw_only=True, slots=True)
class WordCount:
    """How many words were spoken, and how many were not understood.

    Substituted, missing and inserted words count as errors; a call has at most as many errors as
    words. mistakes: each call that was misunderstood, and what was understood.
    """

    words: int
    wrong: int
    mistakes: tuple[tuple[str, str], ...] = ()

    @property
    def share_right(self) -> float:
        """Return the share of words that were understood, 0 to 1."""
        return 1 - self.wrong / self.words

    @property
    def passed(self) -> bool:
        """Return True if enough words were understood."""
        return self.share_right >= REQUIRED_SHARE


def count_words(recogniser: GateRecogniser, spoken: Sequence[tuple[str, Clip]]) -> WordCount:
    """Return how well a recogniser understands clips. spoken: each call and its clip."""
    wrong, mistakes = 0, []
    for call, clip in spoken:
        understood = recogniser.characters(clip)
        errors = edit_distance(list(call), understood)
        if errors:
            mistakes.append((call, " ".join(understood)))
        wrong += min(errors, len(call))
    words = sum(len(call) for call, _ in spoken)
    return WordCount(words=words, wrong=wrong, mistakes=tuple(mistakes))


def speak_calls(
    operator: Operator, speak: SpeakFunction, *, calls: int = CALLS, seed: str = TUNING_SEED
) -> list[tuple[str, Clip]]:
    """Return composed calls with the operator's clips. Raises: NoVoice."""
    return [
        (call, speak(call_words(call), operator, number))
        for number, call in enumerate(compose_gate_calls(calls, Random(seed)))
    ]


def judge_operator(
    operator: Operator,
    speak: SpeakFunction,
    *,
    recogniser: str = "own",
    calls: int = CALLS,
    seed: str = TUNING_SEED,
) -> WordCount:
    """Return how well a recogniser of the gate understands an operator in quiet.

    Raises: NoVoice; ResourceUnavailable if the recogniser is missing.
    """
    spoken = speak_calls(operator, speak, calls=calls, seed=seed)
    return count_words(gate_recogniser(recogniser), spoken)


def shares_in_noise(
    recogniser: OwnRecogniser, spoken: Sequence[tuple[str, Clip]]
) -> dict[float, float]:
    """Return the share of whole calls that the recogniser `own` copies at each of SNRS_DB.

    The calls pass through a steady SSB channel; the recogniser knows how calls are built.
    """
    grammar = call_grammar(alternates=True)

    def copied(call: str, clip: Clip, snr_db: float, seed: int) -> bool:
        received = simulate(clip, Conditions(snr_db=snr_db), seed, []).clip
        return recogniser.transcribe(received, grammar).text == call

    return {
        snr_db: float(
            np.mean(
                [
                    copied(call, clip, snr_db, 1000 * noise + number)
                    for number, (call, clip) in enumerate(spoken)
                    for noise in range(NOISES)
                ]
            )
        )
        for snr_db in SNRS_DB
    }


def call_threshold_db(shares: dict[float, float], count: int) -> float:
    """Return the SNR at which half of whole calls are copied (x50). count: calls per share."""
    return threshold_db(list(shares), list(shares.values()), [count] * len(shares))
