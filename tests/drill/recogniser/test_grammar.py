"""Expressions become networks that accept exactly their language."""

import pytest

from drill.recogniser.grammar import any_number, build_grammar, choice, optional, repeat, sequence

EXPRESSION = sequence(
    "a", optional("b"), any_number("c"), repeat(choice(["d", "e"]), at_least=1, at_most=2)
)


@pytest.mark.parametrize("words", ["ad", "abd", "acced", "abcde"])
def test_a_sequence_of_the_language_is_accepted(words: str) -> None:
    assert build_grammar("test", EXPRESSION).accepts(words)


@pytest.mark.parametrize("words", ["", "a", "bd", "addd", "abbd"])
def test_any_other_sequence_is_refused(words: str) -> None:
    assert not build_grammar("test", EXPRESSION).accepts(words)


def test_fillers_are_accepted_anywhere_and_any_number_of_times() -> None:
    grammar = build_grammar("test", sequence("a", "b"), fillers=["x"])
    assert grammar.accepts("xxaxbx")
    assert grammar.words == {"a", "b", "x"}


def test_words_are_those_of_all_parts() -> None:
    assert build_grammar("test", EXPRESSION).words == set("abcde")
