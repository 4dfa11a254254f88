"""Enrolment from recorded words: the overs that are learnt from, and the gain."""

from collections import Counter

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.core.models import Clip
from drill.recogniser.language import character_grammar
from drill.recogniser.own.enrolment import enrol_voice, training_overs
from drill.recogniser.own.model import load_model
from drill.voices import speak
from drill.voices.operators import find_operator
from drill.voices.wordbank.words import essential_words
from phonetics.message import Word

RATE_HZ = 16_000


def noise_words(count: int) -> dict[str, Clip]:
    """Return recordings of noise under the names of words."""
    rng = np.random.default_rng(2)
    return {
        word: Clip(samples=rng.normal(0, 0.1, RATE_HZ // 4).astype(np.float32), rate_hz=RATE_HZ)
        for word in essential_words()[:count]
    }


def test_every_recording_occurs_before_any_occurs_again() -> None:
    words = noise_words(10)
    overs = list(training_overs([words], seed=1, overs=12))
    counts = Counter(word for said, _ in overs for word in said)
    assert set(counts) == set(words)
    assert max(counts.values()) - min(counts.values()) <= 1
    assert all(clip.samples.any() for _, clip in overs)


def test_the_same_seed_gives_the_same_overs() -> None:
    first, second = (list(training_overs([noise_words(5)], seed=3, overs=3)) for _ in range(2))
    assert [said for said, _ in first] == [said for said, _ in second]
    assert all(
        np.array_equal(a.samples, b.samples) for (_, a), (_, b) in zip(first, second, strict=True)
    )


def test_too_few_words_are_refused() -> None:
    with pytest.raises(UserError, match="there are 5 recorded words"):
        enrol_voice([noise_words(5)], load_model(), character_grammar(alternates=True))


@pytest.mark.slow
def test_a_voice_that_names_other_words_is_learnt() -> None:
    """The speaker says each code word for the next letter, which no model can know before."""
    operator = find_operator("meadow")
    words = essential_words()
    takes = []
    for seed in (1, 2):
        spoken = [
            speak((Word(say=words[(n + 1) % len(words)]),), operator, seed)
            for n in range(len(words))
        ]
        takes.append(dict(zip(words, spoken, strict=True)))
    result = enrol_voice(takes, load_model(), character_grammar(alternates=True))
    assert result.words == len(words)
    assert result.before <= 3
    assert result.after >= 20
