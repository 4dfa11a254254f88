"""Rewording for a voice that lacks words: the meaning stays the same."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.alphabets import characters_from_words
from phonetics.callsign_mixes import compose_callsign
from phonetics.callsigns import is_valid_callsign
from phonetics.exchanges import exchange_names, load_exchange
from phonetics.message import Word
from phonetics.over_style import draw_over_style
from phonetics.phrases import compose_message, message_vocabulary
from phonetics.rewording import ESSENTIAL_WORDS, reword

ALL = frozenset(ESSENTIAL_WORDS.values())


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
def test_an_unknown_word_is_spelt_or_left_out(words: list[Word], spoken: str) -> None:
    assert " ".join(w.say + w.pause for w in reword(words, ALL)) == spoken


def test_a_known_word_stays() -> None:
    words = (Word(say="this"), Word(say="twenty-six", means="26"), Word(say="alfa", means="A"))
    assert reword(words, message_vocabulary()) == words

    some = ALL | {"double", "this", "you", "are"}
    more = (Word(say="double"), Word(say="five", means="55"), Word(say="you"), Word(say="are"))
    assert reword(more, some) == more
    halves = [Word(say="this"), Word(say="is"), Word(say="alfa", means="A")]
    assert [word.say for word in reword(halves, some)] == ["alfa"]


def test_the_result_is_never_empty() -> None:
    words = (Word(say="hello"),)
    assert reword(words, ALL) == words


@given(
    seed=st.integers(0, 10**6),
    exchange=st.sampled_from(exchange_names()),
    part=st.sampled_from(["call", "exchange", "over"]),
    more=st.sets(st.sampled_from(sorted(message_vocabulary())), max_size=60),
)
def test_every_message_can_be_reworded_without_changing_its_meaning(
    seed: int, exchange: str, part: str, more: set[str]
) -> None:
    """Every word is known, and the meanings of a field's words, joined, are unchanged."""
    rng = Random(seed)
    message = compose_message(
        rng,
        part=part,
        exchange=load_exchange(exchange),
        call=compose_callsign(rng, mix="unassigned"),
        progress=3,
        over_style=draw_over_style(rng),
    )
    words = reword(message.words, ALL | more)
    assert {word.say for word in words} <= ALL | more
    for name in {word.field for word in message.words if word.field}:
        before, after = (
            "".join(word.means for word in sequence if word.field == name)
            for sequence in (message.words, words)
        )
        assert before == after
    for word in words:
        if word.means and word.say in ALL and len(word.means) == 1:
            assert characters_from_words([word.say]) == word.means
    assert not is_valid_callsign(message.call)
