"""The grammar of a take accepts correct takes in every style, and takes with errors."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.sending.expected import expected_graph
from drill.sending.prompts import PROMPT_KINDS, compose_prompt
from drill.sending.take_grammar import BIASED_WEIGHTS, UNBIASED_WEIGHTS, take_grammar
from phonetics.exchanges import exchange_names
from tests.drill.sending.takes import (
    CALL_WITH_WRONG_B,
    CALL_WORDS,
    call_prompt,
    own_station,
    spoken_exchange,
)


@pytest.mark.parametrize("kind", PROMPT_KINDS)
@pytest.mark.parametrize("exchange", exchange_names())
def test_the_standard_words_of_a_prompt_are_accepted(kind: str, exchange: str) -> None:
    for seed in range(5):
        prompt = compose_prompt(kind, own_station(exchange), seed)
        words = [word.say for word in prompt.words]
        for weights in (BIASED_WEIGHTS, UNBIASED_WEIGHTS):
            assert take_grammar(expected_graph(prompt), weights).accepts(words), words


@settings(max_examples=100)
@given(seed=st.integers(0, 2**40), exchange=st.sampled_from(exchange_names()))
def test_every_over_style_of_an_exchange_is_accepted(seed: int, exchange: str) -> None:
    prompt, words = spoken_exchange(exchange, seed)
    assert take_grammar(expected_graph(prompt), BIASED_WEIGHTS).accepts(words), words


@pytest.mark.parametrize(
    "words",
    [
        CALL_WITH_WRONG_B,
        "echo eight seven alfa charlie",
        "echo eight seven alfa bravo kilo charlie",
        "echo uh eight seven alfa bravo charlie over",
        f"{CALL_WORDS} {CALL_WORDS}",
    ],
)
def test_takes_with_errors_are_accepted(words: str) -> None:
    grammar = take_grammar(expected_graph(call_prompt()), BIASED_WEIGHTS)
    assert grammar.accepts(words.split())
