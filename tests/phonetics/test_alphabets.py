"""Spelling and reading back."""

import re
from random import Random

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from phonetics.alphabets import ALTERNATES, ITU, alphabet_vocabulary, letters_of, spell
from phonetics.manners import PLAIN, STROKES, Manner, draw_manner
from phonetics.numerals import number_vocabulary

SEEDS = st.integers(0, 2**32)
SPELLABLE = st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/", min_size=1, max_size=12)


@given(SPELLABLE, SEEDS)
@example("/M/M", 0)  # stroke mike stroke mike, which is not maritime mobile
def test_any_text_spelt_by_anybody_is_carried_and_read_back(text: str, seed: int) -> None:
    rng = Random(seed)
    words = spell(text, rng=rng, manner=draw_manner(rng), field="call")
    assert "".join(word.means for word in words) == text
    assert {word.field for word in words} == {"call"}
    assert {word.say for word in words} <= alphabet_vocabulary()
    assert letters_of(word.say for word in words) == text


def test_plain_spelling_is_the_itus() -> None:
    words = spell("e8abc", rng=Random(1), manner=PLAIN)
    assert [word.say for word in words] == ["echo", "eight", "alfa", "bravo", "charlie"]


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_alternates_come_in_their_share(share: float) -> None:
    rng = Random(3)
    letters = [rng.choice(sorted(ITU)) for _ in range(4000)]
    plain = sum(
        spell(letter, rng=rng, alternates=share)[0].say == ITU[letter].lower() for letter in letters
    )
    assert plain / len(letters) == pytest.approx(1 - share, abs=0.03)  # about four standard errors


def test_a_letter_that_comes_twice_is_said_the_same_way_twice() -> None:
    for seed in range(50):
        first, second = spell("MM", rng=Random(seed), alternates=0.5)
        assert first.say == second.say


def test_alternates_begin_with_their_letter_and_mean_nothing_else() -> None:
    assert set(ALTERNATES) == set(ITU)
    words = [word for words in ALTERNATES.values() for word in words]
    assert all(word[0] == letter for letter, words in ALTERNATES.items() for word in words)
    said = [word.lower() for word in (*words, *ITU.values())]
    assert len(said) == len(set(said))
    assert not set(said) & number_vocabulary()


def test_every_word_can_be_spoken_by_a_voice() -> None:
    assert all(re.fullmatch(r"[a-z][a-z'-]*", word) for word in alphabet_vocabulary())


@pytest.mark.parametrize(
    ("stroke", "text", "said"),
    [
        ("stroke", "E8A/P", "stroke papa"),
        ("slash", "E8A/P", "slash papa"),
        ("portable", "E8A/P", "portable"),
        ("portable", "E8A/M", "mobile"),
        ("portable", "E8A/MM", "maritime mobile"),
        ("portable", "E8A/7", "stroke seven"),
    ],
)
def test_the_stroke_is_said_as_the_operator_does(stroke: str, text: str, said: str) -> None:
    assert stroke in STROKES
    words = spell(text, rng=Random(1), manner=Manner(stroke=stroke))
    assert " ".join(word.say for word in words[3:]) == said
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
def test_reading_knows_the_usual_spellings(typed: str, text: str) -> None:
    assert letters_of(typed) == text


@pytest.mark.parametrize("typed", ["banana", "alfa über", "\N{SUPERSCRIPT TWO}", "-"])
def test_what_is_no_code_word_is_named(typed: str) -> None:
    with pytest.raises(ValueError, match="is not a code word"):
        letters_of(typed)


@pytest.mark.parametrize("text", ["E8Ä", "?", "\N{SUPERSCRIPT TWO}"])
def test_what_has_no_code_word_is_named(text: str) -> None:
    with pytest.raises(ValueError, match="has no code word"):
        spell(text, rng=Random(1))
