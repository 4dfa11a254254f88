"""The words of a bank, and the file names that denote them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.voices.wordbank.words import (
    essential_words,
    word_from_file_name,
    word_groups,
    word_parts,
)
from phonetics.phrases import message_vocabulary
from phonetics.rewording import ESSENTIAL_WORDS


def test_every_word_that_an_over_can_contain_is_listed_once() -> None:
    listed = [word for group in word_groups() for word in group.words]
    assert len(listed) == len(set(listed))
    parts = {part for word in message_vocabulary() for part in word_parts(word)}
    assert set(listed) == parts


def test_the_essential_words_come_first() -> None:
    assert essential_words() == tuple(ESSENTIAL_WORDS.values())
    assert [group.optional for group in word_groups()] == [False] + [True] * 6


@pytest.mark.parametrize(
    ("stem", "word"),
    [
        ("alfa", "alfa"), ("Alpha", "alfa"), ("ALFA", "alfa"), ("a", "alfa"), ("9", "nine"),
        ("nine", "nine"), ("Niner", "niner"), ("wun", "one"), ("x ray", "x-ray"),
        ("xray", "x-ray"), ("X_Ray", "x-ray"), ("juliet", "juliett"), ("whisky", "whiskey"),
        ("12-zulu", "zulu"), ("03_charlie", "charlie"), ("26", "twenty-six"), ("40", "forty"),
        ("12", "twelve"), ("twenty-six", "twenty-six"), ("oh", "oh"), ("portable", "portable"),
        ("hello world", ""), ("kelp", ""), ("", ""), ("100", ""), ("9_p", ""),
        (" bravo ", "bravo"),
    ],
)  # fmt: skip
def test_common_file_names_are_understood(stem: str, word: str) -> None:
    assert word_from_file_name(stem) == word


@given(st.text(max_size=20))
def test_any_file_name_gives_a_word_of_the_vocabulary_or_none(stem: str) -> None:
    assert word_from_file_name(stem) in message_vocabulary() | {""}


def test_extra_words_are_accepted() -> None:
    assert word_from_file_name("Kelp", ("kelp",)) == "kelp"
