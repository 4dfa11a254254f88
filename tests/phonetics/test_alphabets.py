"""Spelling text in code words, and reading code words back."""

import re
from random import Random

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from phonetics.alphabets import (
    ALTERNATE_WORDS,
    ITU_CODE_WORDS,
    alphabet_vocabulary,
    characters_from_words,
    spell,
)
from phonetics.numerals import number_vocabulary
from phonetics.over_style import PLAIN_OVER_STYLE, STROKE_STYLES, OverStyle, draw_over_style

SEEDS = st.integers(0, 2**32)
SPELLABLE = st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/", min_size=1, max_size=12)


@given(SPELLABLE, SEEDS)
@example("/M/M", 0)  # stroke mike stroke mike, which is not maritime mobile
def test_spelt_text_reads_back_in_every_over_style(text: str, seed: int) -> None:
    rng = Random(seed)
    words = spell(text, rng=rng, over_style=draw_over_style(rng), field="call")
    assert "".join(word.means for word in words) == text
    assert {word.field for word in words} == {"call"}
    assert {word.say for word in words} <= alphabet_vocabulary()
    assert characters_from_words(word.say for word in words) == text


def test_plain_spelling_uses_the_itu_words() -> None:
    words = spell("e8abc", rng=Random(1), over_style=PLAIN_OVER_STYLE)
    assert [word.say for word in words] == ["echo", "eight", "alfa", "bravo", "charlie"]


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_alternates_occur_with_their_share(share: float) -> None:
    rng = Random(3)
    letters = [rng.choice(sorted(ITU_CODE_WORDS)) for _ in range(4000)]
    plain = sum(
        spell(letter, rng=rng, alternates=share)[0].say == ITU_CODE_WORDS[letter].lower()
        for letter in letters
    )
    assert plain / len(letters) == pytest.approx(1 - share, abs=0.03)  # about four standard errors


def test_a_repeated_letter_gets_the_same_word() -> None:
    for seed in range(50):
        first, second = spell("MM", rng=Random(seed), alternates=0.5)
        assert first.say == second.say


def test_alternates_begin_with_their_letter_and_are_unambiguous() -> None:
    assert set(ALTERNATE_WORDS) == set(ITU_CODE_WORDS)
    assert all(word[0] == letter for letter, words in ALTERNATE_WORDS.items() for word in words)
    alternates = [word for words in ALTERNATE_WORDS.values() for word in words]
    spoken = [word.lower() for word in (*alternates, *ITU_CODE_WORDS.values())]
    assert len(spoken) == len(set(spoken))
    assert not set(spoken) & number_vocabulary()


def test_words_contain_only_letters_hyphen_and_apostrophe() -> None:
    assert all(re.fullmatch(r"[a-z][a-z'-]*", word) for word in alphabet_vocabulary())


@pytest.mark.parametrize(
    ("stroke", "text", "spoken"),
    [
        ("stroke", "E8A/P", "stroke papa"),
        ("slash", "E8A/P", "slash papa"),
        ("portable", "E8A/P", "portable"),
        ("portable", "E8A/M", "mobile"),
        ("portable", "E8A/MM", "maritime mobile"),
        ("portable", "E8A/7", "stroke seven"),
    ],
)
def test_the_stroke_follows_the_over_style(stroke: str, text: str, spoken: str) -> None:
    assert stroke in STROKE_STYLES
    words = spell(text, rng=Random(1), over_style=OverStyle(stroke=stroke))
    assert " ".join(word.say for word in words[3:]) == spoken
    assert "".join(word.means for word in words) == text


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("Alpha Juliet Whisky xray", "AJWX"),
        ("nadazero niner fife oh", "0950"),
        ("e 8 a b c", "E8ABC"),
        ("Zed Kilowatt, America.", "ZKA"),
        ("07", "07"),
    ],
)
def test_common_spellings_are_read(typed: str, text: str) -> None:
    assert characters_from_words(typed) == text


@pytest.mark.parametrize("typed", ["banana", "alfa über", "\N{SUPERSCRIPT TWO}", "-"])
def test_an_unknown_code_word_is_named_in_the_error(typed: str) -> None:
    with pytest.raises(ValueError, match="is not a code word"):
        characters_from_words(typed)


@pytest.mark.parametrize("text", ["E8Ä", "?", "\N{SUPERSCRIPT TWO}"])
def test_a_character_without_a_code_word_is_named_in_the_error(text: str) -> None:
    with pytest.raises(ValueError, match="has no code word"):
        spell(text, rng=Random(1))
