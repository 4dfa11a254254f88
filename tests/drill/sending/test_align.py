"""Alignments are complete, and have no more errors than the edit distance."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from drill.sending.align import align_words
from drill.sending.expected import expected_graph
from drill.sending.prompts import PROMPT_KINDS, compose_prompt
from phonetics.exchanges import exchange_names
from tests.drill.sending.takes import CALL_WORDS, call_prompt, own_station

WORDS = CALL_WORDS.split()


@pytest.mark.parametrize("kind", PROMPT_KINDS)
@pytest.mark.parametrize("exchange", exchange_names())
def test_the_standard_words_of_a_prompt_are_right(kind: str, exchange: str) -> None:
    for seed in range(5):
        prompt = compose_prompt(kind, own_station(exchange), seed)
        words = [word.say for word in prompt.words]
        steps = align_words(words, expected_graph(prompt))
        assert all(step.kind == "right" for step in steps), words


@settings(max_examples=150)
@given(recognised=st.lists(st.sampled_from([*WORDS, "delta", "nine"]), max_size=9))
def test_an_alignment_has_no_more_errors_than_the_edit_distance(recognised: list[str]) -> None:
    """Outside check: the Levenshtein distance of rapidfuzz. Every word is used exactly once."""
    steps = align_words(recognised, expected_graph(call_prompt()))
    errors = sum(step.kind in ("wrong", "missing", "extra", "back") for step in steps)
    errors += sum(step.kind == "order" for step in steps) // 2
    assert errors <= Levenshtein.distance(WORDS, recognised) + 1e-9
    used = [step.recognised for step in steps if step.recognised is not None]
    assert sorted(used) == list(range(len(recognised)))
