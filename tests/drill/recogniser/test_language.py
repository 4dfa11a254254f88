"""The grammars contain every call and every message that phonetics can compose, and no others."""

from functools import cache
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.recogniser.grammar import Grammar
from drill.recogniser.language import call_grammar, character_grammar, message_grammar
from phonetics.alphabets import ITU_CODE_WORDS, spell
from phonetics.callsign_mixes import CALLSIGN_MIXES, compose_callsign
from phonetics.exchanges import exchange_names, load_exchange
from phonetics.over_style import draw_over_style
from phonetics.phrases import PHRASE_TEMPLATES, compose_message, compose_phrase

SEEDS = st.integers(0, 2**48)


@cache
def calls(*, alternates: bool) -> Grammar:
    return call_grammar(alternates=alternates)


@cache
def messages(exchange_name: str) -> Grammar:
    return message_grammar(load_exchange(exchange_name), alternates=True)


@settings(max_examples=300)
@given(seed=SEEDS, mix=st.sampled_from(CALLSIGN_MIXES))
def test_every_call_is_in_the_language(seed: int, mix: str) -> None:
    rng = Random(seed)
    call = compose_callsign(rng, mix=mix, strokes=0.3)
    over_style = draw_over_style(rng)
    words = [word.say for word in spell(call.text, rng=rng, over_style=over_style)]
    assert calls(alternates=True).accepts(words), words
    plain = [word.say for word in spell(call.text, rng=rng)]
    assert calls(alternates=False).accepts(plain), plain
    assert calls(alternates=False).accepts(["uh", *plain[:2], "um", *plain[2:]])


@pytest.mark.slow
@settings(max_examples=80)
@given(
    seed=SEEDS, name=st.sampled_from(exchange_names()), part=st.sampled_from(["exchange", "over"])
)
def test_every_message_in_every_over_style_is_in_the_language(
    seed: int, name: str, part: str
) -> None:
    rng = Random(seed)
    message = compose_message(
        rng, part=part, exchange=load_exchange(name), call=compose_callsign(rng),
        progress=seed % 900, over_style=draw_over_style(rng),
    )  # fmt: skip
    words = [word.say for word in message.words]
    assert messages(name).accepts(words), words


@settings(max_examples=60)
@given(seed=SEEDS, kind=st.sampled_from([kind for kind in PHRASE_TEMPLATES if kind != "report"]))
def test_every_phrase_is_in_the_language(seed: int, kind: str) -> None:
    rng = Random(seed)
    phrase = compose_phrase(rng, kind, call=compose_callsign(rng), over_style=draw_over_style(rng))
    words = [word.say for word in phrase.words]
    assert messages("serial").accepts(words), words


@pytest.mark.parametrize(
    "words",
    [
        "alfa", "alfa bravo", "one two three", "alfa one", "echo eight seven", "cq echo one alfa",
        "stroke alfa one bravo", "alfa one bravo stroke", "echo eight seven alfa hello",
    ],
)  # fmt: skip
def test_words_that_form_no_call_are_not_in_the_language(words: str) -> None:
    """By hand from Radio Regulations No. 19.68: prefix, digit, suffix that ends in a letter."""
    assert not calls(alternates=True).accepts(words.split())


def test_a_single_code_word_is_in_the_language_of_characters() -> None:
    grammar = character_grammar()
    words = [word.lower() for word in ITU_CODE_WORDS.values()]
    assert all(grammar.accepts([word]) for word in [*words, "seven", "stroke"])
    assert not grammar.accepts(["alfa", "bravo"])
