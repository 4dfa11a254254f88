"""The alphabet compared with ITU Radio Regulations Appendix 14 (Rev.WRC-07) and ICAO Annex 10.

Words and counts of syllables are written out again here from the published tables.
"""

import pytest

from phonetics.alphabets import ITU_CODE_WORDS, characters_from_words, spell
from phonetics.numerals import ICAO_FIGURES, ITU_FIGURES, digit_word
from phonetics.over_style import OverStyle

# ITU RR Appendix 14, letters; syllables from the respellings of ICAO Annex 10 Volume II, fig. 5-1.
APPENDIX_14 = {
    "Alfa": 2, "Bravo": 2, "Charlie": 2, "Delta": 2, "Echo": 2, "Foxtrot": 2, "Golf": 1,
    "Hotel": 2, "India": 3, "Juliett": 3, "Kilo": 2, "Lima": 2, "Mike": 1, "November": 3,
    "Oscar": 2, "Papa": 2, "Quebec": 2, "Romeo": 3, "Sierra": 3, "Tango": 2, "Uniform": 3,
    "Victor": 2, "Whiskey": 2, "X-ray": 2, "Yankee": 2, "Zulu": 2,
}  # fmt: skip
# ITU RR Appendix 14, figures.
FIGURES = [
    "Nadazero", "Unaone", "Bissotwo", "Terrathree", "Kartefour",
    "Pantafive", "Soxisix", "Setteseven", "Oktoeight", "Novenine",
]  # fmt: skip
# ICAO Annex 10 Volume II, 5.2.1.4.3.1.
ICAO = ["ZE-RO", "WUN", "TOO", "TREE", "FOW-er", "FIFE", "SIX", "SEV-en", "AIT", "NIN-er"]


def test_code_words_equal_those_of_the_itu() -> None:
    assert list(ITU_CODE_WORDS.values()) == list(APPENDIX_14)
    assert list(ITU_CODE_WORDS) == list("ABCDEFGHIJKLMNOPQRSTUVWXYZ")


def test_eighteen_code_words_have_two_syllables() -> None:
    # The 18-item set of the Callsign Acquisition Test, Rao and Letowski, Ear Hear 27 (2006) 120.
    two = [letter for letter, word in ITU_CODE_WORDS.items() if APPENDIX_14[word] == 2]
    assert "".join(two) == "ABCDEFHKLOPQTVWXYZ"


def test_figure_words_equal_those_of_the_itu() -> None:
    assert [ITU_FIGURES[digit] for digit in "0123456789"] == FIGURES


def test_respellings_equal_those_of_icao() -> None:
    assert [ICAO_FIGURES[digit] for digit in "0123456789"] == ICAO


@pytest.mark.parametrize("digit", "345")
def test_icao_figures_are_spoken_as_respelt(digit: str) -> None:
    said = digit_word(digit, OverStyle(figures="icao"))
    assert said == ICAO_FIGURES[digit].replace("-", "").lower()


@pytest.mark.parametrize("misspelt", ["Duotwo", "Carrefour", "Pentafive", "Novonine"])
def test_misspelt_figure_words_from_faulty_copies_are_refused(misspelt: str) -> None:
    with pytest.raises(ValueError, match=misspelt):
        characters_from_words(misspelt)


def test_spelling_uses_the_code_words_and_figures() -> None:
    from random import Random

    text = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
    said = [word.say for word in spell(text, rng=Random(1), over_style=OverStyle(figures="itu"))]
    assert said == [word.lower() for word in (*APPENDIX_14, *FIGURES)]
