"""Every word has its phonemes, with the stress of the standard."""

import re

import pytest

from drill import voices
from drill.core.errors import UserError
from drill.voices.engines.natural.model import natural_symbol_numbers
from drill.voices.engines.natural.pronounce import (
    PRIMARY_STRESS,
    listed_phonemes,
    natural_accents,
    phonemes_of_word,
)
from drill.voices.engines.studio.engine import studio_symbol_numbers
from drill.voices.operators import find_operator
from phonetics.message import Word
from phonetics.phrases import message_vocabulary


@pytest.mark.parametrize("accent", ["", *natural_accents()])
def test_every_word_is_listed_with_symbols_that_both_models_know(accent: str) -> None:
    symbols = set(natural_symbol_numbers())
    for say in sorted(message_vocabulary()):
        assert listed_phonemes(say), f"{say!r} has no pronunciation"
        phonemes = phonemes_of_word(say, accent)
        assert set(phonemes) <= symbols, f"{say!r}: {set(phonemes) - symbols}"
        assert not set(phonemes) & set(" ,."), say
        assert set(phonemes) <= set(studio_symbol_numbers()), say


def test_a_hyphenated_number_is_put_together_from_its_parts() -> None:
    assert listed_phonemes("twenty-six").endswith(listed_phonemes("six"))
    assert listed_phonemes("twenty-nobody") == ""


def test_a_word_that_is_not_listed_is_converted_and_spoken() -> None:
    assert not listed_phonemes("kelp")
    clip = voices.find_engine("natural").synthesise([Word(say="kelp")], find_operator("slate"), 1)
    assert 0.2 < clip.seconds < 1.5


@pytest.mark.parametrize(
    ("say", "stressed_vowel"),
    [("papa", 2), ("quebec", 2), ("juliett", 3), ("hotel", 2), ("echo", 1)],
)
def test_the_stress_follows_the_standard(say: str, stressed_vowel: int) -> None:
    """Source: ITU Radio Regulations Appendix 14, syllables in capitals or underlined.

    PAH PAH with the second underlined, KEH BECK, JEW LEE ETT, HO TELL, ECK OH.
    """
    before = listed_phonemes(say).partition(PRIMARY_STRESS)[0]
    vowels = re.findall("[aeiouAIOWY\u00e6\u0250-\u025c\u026a\u028a\u028c]", before)
    assert len(vowels) == stressed_vowel - 1


def test_a_word_without_letters_is_an_error() -> None:
    with pytest.raises(UserError, match="letters"):
        voices.find_engine("natural").synthesise([Word(say="---")], find_operator("slate"), 1)


@pytest.mark.parametrize("accent", natural_accents())
def test_short_figures_keep_the_vowel_that_tells_them_apart(accent: str) -> None:
    """With another vowel, recognisers of the voice gate took the words for "van" and "seeks"."""
    one, six = (phonemes_of_word(word, accent) for word in ("one", "six"))
    assert one[1:] == listed_phonemes("one")[1:]
    assert listed_phonemes("six")[1:] in six
