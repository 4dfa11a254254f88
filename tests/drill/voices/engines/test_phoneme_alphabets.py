"""IPA in the alphabets of the speech engines."""

import pytest

from drill.voices.engines.natural.model import natural_symbol_numbers
from drill.voices.engines.natural.pronounce import listed_phonemes
from drill.voices.engines.phoneme_alphabets import espeak_phonemes, model_phonemes
from drill.voices.engines.studio.engine import studio_symbol_numbers
from phonetics.ways_of_saying import ways_of_saying

WAYS = [(word, way) for word, ways in ways_of_saying().items() for way in ways]


@pytest.mark.parametrize(("word", "ways"), ways_of_saying().items())
def test_the_usual_way_is_that_of_the_pronunciation_table(word: str, ways: tuple[str, ...]) -> None:
    assert model_phonemes(ways[0]) == listed_phonemes(word)


def test_both_models_read_every_way() -> None:
    for word, way in WAYS:
        symbols = set(model_phonemes(way))
        assert symbols <= natural_symbol_numbers().keys(), (word, way)
        assert symbols <= studio_symbol_numbers().keys(), (word, way)


def test_espeak_has_a_mnemonic_for_every_way() -> None:
    for _, way in WAYS:
        assert espeak_phonemes(way).startswith("[[")


def test_stress_moves_to_the_vowel() -> None:
    assert model_phonemes("ˌdʒuliˈɛt") == "ʤˌuliˈɛt"
    assert espeak_phonemes("pəˈpɑ") == "[[p@p'A:]]"


def test_an_unknown_symbol_is_named() -> None:
    with pytest.raises(ValueError, match="'ǂ'"):
        espeak_phonemes("ˈǂa")
