"""The same said with fewer words: the meaning stays."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.alphabets import letters_of
from phonetics.callsigns import compose, is_valid
from phonetics.exchanges import load, names
from phonetics.manners import draw_manner
from phonetics.message import Word
from phonetics.phrases import compose_message, vocabulary
from phonetics.rewording import ESSENTIAL, reword

ALL = frozenset(ESSENTIAL.values())


@pytest.mark.parametrize(
    ("words", "spoken"),
    [
        ([Word(say="america", means="A"), Word(say="fower", means="4")], "alfa four"),
        ([Word(say="double"), Word(say="five", means="55", pause=",")], "five five,"),
        ([Word(say="this"), Word(say="is"), Word(say="zed", means="Z")], "zulu"),
        ([Word(say="one", means="1"), Word(say="over", pause=".")], "one."),
        ([Word(say="twenty-six", means="26", pause=",")], "two six,"),
        ([Word(say="maritime", means="/M"), Word(say="mobile", means="M")], "stroke mike mike"),
        ([Word(say="anna", means="ANNA", pause=",")], "alfa november november alfa,"),
        ([Word(say="one"), Word(say="kilowatt", means="1000")], "one zero zero zero"),
    ],
)
def test_what_cannot_be_said_is_spelt_or_left_out(words: list[Word], spoken: str) -> None:
    assert " ".join(w.say + w.pause for w in reword(words, ALL)) == spoken


def test_a_word_that_is_known_stays() -> None:
    words = (Word(say="this"), Word(say="twenty-six", means="26"), Word(say="alfa", means="A"))
    assert reword(words, vocabulary()) == words

    some = ALL | {"double", "this", "you", "are"}
    more = (Word(say="double"), Word(say="five", means="55"), Word(say="you"), Word(say="are"))
    assert reword(more, some) == more
    halves = [Word(say="this"), Word(say="is"), Word(say="alfa", means="A")]
    assert [word.say for word in reword(halves, some)] == ["alfa"]


def test_words_that_carry_nothing_are_never_all_left_out() -> None:
    words = (Word(say="hello"),)
    assert reword(words, ALL) == words


@given(
    seed=st.integers(0, 10**6),
    exchange=st.sampled_from(names()),
    part=st.sampled_from(["call", "exchange", "over"]),
    more=st.sets(st.sampled_from(sorted(vocabulary())), max_size=60),
)
def test_every_message_can_be_said_and_means_the_same(
    seed: int, exchange: str, part: str, more: set[str]
) -> None:
    """The meanings of a field's words, joined, are what they were; every word is known."""
    rng = Random(seed)
    message = compose_message(
        rng, part=part, exchange=load(exchange), call=compose(rng, mix="unassigned"), progress=3,
        manner=draw_manner(rng),
    )  # fmt: skip
    words = reword(message.words, ALL | more)
    assert {word.say for word in words} <= ALL | more
    for name in {word.field for word in message.words if word.field}:
        before, after = (
            "".join(word.means for word in each if word.field == name)
            for each in (message.words, words)
        )
        assert before == after
    for word in words:
        if word.means and word.say in ALL and len(word.means) == 1:
            assert letters_of([word.say]) == word.means
    assert not is_valid(message.call)
