"""The engine pocketsphinx recognises words spoken by a voice of the program."""

import sys
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from drill import voices
from drill.core.errors import NoRecogniser
from drill.core.models import Clip
from drill.recogniser import Recogniser, find_recogniser
from drill.recogniser.grammar import EPSILON, Arc, Grammar, build_grammar, choice, sequence
from drill.recogniser.language import call_grammar
from drill.recogniser.sphinx import PocketSphinxRecogniser, close_epsilon_arcs
from drill.voices.operators import find_operator
from phonetics.message import Word

CALLS = call_grammar()
CALL_WORDS = "echo eight seven alfa bravo charlie"


@pytest.fixture(scope="module")
def sphinx() -> Recogniser:
    return find_recogniser("pocketsphinx")


@cache
def speech(text: str) -> Clip:
    """Return words in a natural voice."""
    return voices.speak(tuple(Word(say=word) for word in text.split()), find_operator("meadow"), 1)


def test_a_call_is_recognised_with_its_times(sphinx: Recogniser) -> None:
    clip = speech(CALL_WORDS)
    words = sphinx.recognise(clip, CALLS)
    assert [word.say for word in words] == CALL_WORDS.split()
    assert all(word.confidence > sphinx.unsure_below for word in words)
    for word, spoken in zip(words, clip.words, strict=True):
        assert abs(word.start_s - spoken.start_s) < 0.25
        assert 0 <= word.start_s < word.end_s <= clip.seconds
    assert all(first.end_s <= second.start_s for first, second in pairwise(words))


def test_a_word_that_was_not_spoken_has_little_confidence(sphinx: Recogniser) -> None:
    other_words = ["echo", "eight", "seven", "alfa", "whiskey", "charlie"]
    grammar = build_grammar("wrong", sequence(*other_words))
    words = sphinx.recognise(speech(CALL_WORDS), grammar)
    assert words[4].confidence < 0.1 < words[3].confidence


def test_the_level_of_a_clip_does_not_matter(sphinx: Recogniser) -> None:
    clip = speech("echo eight alfa bravo")
    weak = Clip(samples=clip.samples * np.float32(0.01), rate_hz=clip.rate_hz)
    recognised = [[word.say for word in sphinx.recognise(sound, CALLS)] for sound in (weak, clip)]
    assert recognised[0] == recognised[1]


@pytest.mark.parametrize("length", [16_000, 0])
def test_silence_contains_no_words(length: int, sphinx: Recogniser) -> None:
    silence = Clip(samples=np.zeros(length, np.float32), rate_hz=16_000)
    assert sphinx.recognise(silence, CALLS) == ()


def test_words_outside_the_dictionary_get_a_pronunciation(sphinx: Recogniser) -> None:
    grammar = build_grammar("own", choice(["zorblatt", "twenty-six", "bissotwo"]))
    words = sphinx.recognise(speech("twenty-six"), grammar)
    assert [word.say for word in words] == ["twenty-six"]


def test_chains_of_epsilon_arcs_become_single_arcs() -> None:
    chain = Grammar(
        name="chain", final=3,
        arcs=(
            Arc(0, 1, EPSILON, 0.5), Arc(1, 2, EPSILON, 0.5), Arc(2, 3, "a"), Arc(2, 0, EPSILON),
        ),
    )  # fmt: skip
    weights = {
        (arc.source, arc.target): arc.weight
        for arc in close_epsilon_arcs(chain)
        if arc.word == EPSILON
    }
    assert weights[0, 2] == 0.25
    assert weights[1, 0] == 0.5


def test_a_missing_package_is_reported_with_the_remedy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    missing = PocketSphinxRecogniser()
    assert "pip install pocketsphinx" in missing.problem()
    with pytest.raises(NoRecogniser, match="pip install"):
        missing.recognise(speech("echo"), CALLS)
