"""The listener: its grammar holds all that can be said, and the engine hears what is said."""

import sys
from itertools import pairwise
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill import recogniser, voices
from drill.core.errors import NoListener, UserError
from drill.core.models import Clip
from drill.recogniser import language, sphinx
from drill.recogniser.grammar import FREE, Arc, Grammar, either, many, maybe, network, then, times
from drill.recogniser.phones import arpabet, syllables
from drill.voices.engines.natural.pronounce import known
from drill.voices.people.roster import operator
from phonetics.alphabets import spell
from phonetics.callsigns import MIXES, compose
from phonetics.exchanges import load, names
from phonetics.manners import draw_manner
from phonetics.message import Word
from phonetics.phrases import PHRASES, compose_message, compose_phrase

CALLS = {share: language.calls(alternates=share) for share in (False, True)}
MESSAGES = {name: language.messages(load(name), alternates=True) for name in names()}
SEEDS = st.integers(0, 2**48)


@settings(max_examples=300, deadline=None)
@given(seed=SEEDS, mix=st.sampled_from(MIXES))
def test_every_call_is_in_the_language(seed: int, mix: str) -> None:
    rng = Random(seed)
    call = compose(rng, mix=mix, strokes=0.3)
    manner = draw_manner(rng)
    words = [word.say for word in spell(call.text, rng=rng, manner=manner)]
    assert CALLS[True].accepts(words), words
    plain = [word.say for word in spell(call.text, rng=rng)]
    assert CALLS[False].accepts(plain), plain
    assert CALLS[False].accepts(["uh", *plain[:2], "um", *plain[2:]])


@settings(max_examples=80, deadline=None)
@given(seed=SEEDS, name=st.sampled_from(names()), part=st.sampled_from(["exchange", "over"]))
def test_every_message_in_every_manner_is_in_the_language(seed: int, name: str, part: str) -> None:
    rng = Random(seed)
    message = compose_message(
        rng, part=part, exchange=load(name), call=compose(rng), progress=seed % 900,
        manner=draw_manner(rng),
    )  # fmt: skip
    words = [word.say for word in message.words]
    assert MESSAGES[name].accepts(words), words


@settings(max_examples=60, deadline=None)
@given(seed=SEEDS, kind=st.sampled_from([kind for kind in PHRASES if kind != "report"]))
def test_every_phrase_is_in_the_language(seed: int, kind: str) -> None:
    rng = Random(seed)
    said = compose_phrase(rng, kind, call=compose(rng), manner=draw_manner(rng))
    words = [word.say for word in said.words]
    assert MESSAGES["serial"].accepts(words), words


@pytest.mark.parametrize(
    "words",
    [
        "alfa", "alfa bravo", "one two three", "alfa one", "echo eight seven", "cq echo one alfa",
        "stroke alfa one bravo", "alfa one bravo stroke", "echo eight seven alfa hello",
    ],
)  # fmt: skip
def test_what_is_no_call_is_not_in_the_language(words: str) -> None:
    """Refused by hand from RR 19.68: a prefix, a digit, and a suffix that ends in a letter."""
    assert not CALLS[True].accepts(words.split())


def test_expressions_mean_what_they_say() -> None:
    grammar = network("g", then("a", maybe("b"), many("c"), times(either(["d", "e"]), 1, 2)))
    for words in ("ad", "abd", "acced", "abcde"):
        assert grammar.accepts(words), words
    for words in ("", "a", "bd", "addd", "abbd"):
        assert not grammar.accepts(words), words
    assert grammar.words == set("abcde")


def test_chains_of_free_arcs_are_closed() -> None:
    chain = Grammar(
        name="g", final=3,
        arcs=(Arc(0, 1, FREE, 0.5), Arc(1, 2, FREE, 0.5), Arc(2, 3, "a"), Arc(2, 0, FREE)),
    )  # fmt: skip
    free = {(arc.source, arc.target): arc.weight for arc in sphinx.closed(chain) if not arc.word}
    assert free[0, 2] == 0.25
    assert free[1, 0] == 0.5


def say(text: str, name: str = "meadow") -> Clip:
    return voices.speak(tuple(Word(say=word) for word in text.split()), operator(name), 1)


def test_a_call_is_heard_with_its_times() -> None:
    text = "echo eight seven alfa bravo charlie"
    clip = say(text)
    heard = recogniser.find().hear(clip, CALLS[False])
    assert [word.say for word in heard] == text.split()
    assert all(word.confidence > recogniser.find().unsure for word in heard)
    for word, true in zip(heard, clip.words, strict=True):
        assert abs(word.start_s - true.start_s) < 0.25
        assert 0 <= word.start_s < word.end_s <= clip.seconds
    assert all(a.end_s <= b.start_s for a, b in pairwise(heard))


def test_a_word_that_was_not_said_has_no_confidence() -> None:
    wrong = "echo eight seven alfa whiskey charlie"
    grammar = network("wrong", then(*wrong.split()))
    heard = recogniser.find().hear(say("echo eight seven alfa bravo charlie"), grammar)
    assert heard[4].confidence < 0.1 < heard[3].confidence


def test_a_quiet_clip_is_heard_alike() -> None:
    clip = say("echo eight alfa bravo")
    weak = Clip(samples=clip.samples * np.float32(0.01), rate_hz=clip.rate_hz)
    hear = recogniser.find().hear
    assert [w.say for w in hear(weak, CALLS[False])] == [w.say for w in hear(clip, CALLS[False])]


def test_silence_holds_no_words() -> None:
    silent = Clip(samples=np.zeros(16_000, np.float32), rate_hz=16_000)
    assert recogniser.find().hear(silent, CALLS[False]) == ()
    nothing = Clip(samples=np.zeros(0, np.float32), rate_hz=16_000)
    assert recogniser.find().hear(nothing, CALLS[False]) == ()


def test_words_outside_the_dictionary_are_read() -> None:
    grammar = network("own", either(["zorblatt", "twenty-six", "bissotwo"]))
    heard = recogniser.find().hear(say("twenty-six"), grammar)
    assert [word.say for word in heard] == ["twenty-six"]


def test_readings() -> None:
    assert arpabet(known("alfa")) == "AE L F AH"
    assert [syllables(word) for word in ("alfa", "five", "november", "x-ray")] == [2, 1, 3, 2]
    with pytest.raises(UserError, match="cannot read"):
        arpabet("...")


def test_a_missing_recogniser_is_told_with_the_remedy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    lacking = sphinx.PocketSphinx()
    assert "pip install pocketsphinx" in lacking.problem()
    with pytest.raises(NoListener, match="pip install"):
        lacking.hear(say("echo"), CALLS[False])


def test_an_unknown_listener_names_those_there_are() -> None:
    assert "pocketsphinx" in recogniser.names()
    assert recogniser.find("pocketsphinx").problem() == ""
    with pytest.raises(NoListener, match="pocketsphinx"):
        recogniser.find("ears")
