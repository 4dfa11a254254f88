"""Ways of saying words: the data, and an operator's habit."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.numerals import DIGIT_WORDS
from phonetics.phrases import message_vocabulary
from phonetics.ways_of_saying import draw_ways, ways_of_saying

IPA_SYMBOLS = set("abdefhijklmnopstuvwzæðŋɑɔəɛɜɡɪɹɾʃʊʌθʒᵊʰˈˌ")


def test_every_code_word_and_digit_has_a_way() -> None:
    known = ways_of_saying()
    words = {word.lower() for word in ITU_CODE_WORDS.values()} | set(DIGIT_WORDS)
    assert words <= known.keys()


def test_words_are_words_that_stations_say() -> None:
    assert ways_of_saying().keys() <= message_vocabulary()


def test_ways_are_written_in_ipa_with_one_primary_stress() -> None:
    for word, ways in ways_of_saying().items():
        for way in ways:
            assert set(way) <= IPA_SYMBOLS, (word, way)
            assert way.count("ˈ") == 1, (word, way)


def test_usual_stress_is_that_of_the_radio_regulations() -> None:
    """ITU Radio Regulations, Appendix 14: pah PAH, keh BECK, hoh TELL, no VEM ber, ZEE (first)."""
    for word in ("papa", "quebec", "hotel", "november"):
        assert not ways_of_saying()[word][0].startswith("ˈ"), word
    for word in ("alfa", "bravo", "charlie", "delta", "echo", "golf", "kilo", "lima", "tango"):
        assert ways_of_saying()[word][0].startswith("ˈ"), word


@given(st.integers(), st.floats(0, 1))
def test_an_operator_has_one_known_way_for_each_word(seed: int, share: float) -> None:
    ways = draw_ways(Random(seed), share=share)
    assert all(way in ways_of_saying()[word] for word, way in ways.items())
    assert ways == draw_ways(Random(seed), share=share)


def test_share_is_the_share_of_words_with_a_way_of_their_own() -> None:
    assert not draw_ways(Random(1), share=0)
    assert draw_ways(Random(1), share=1).keys() == ways_of_saying().keys()


def test_the_usual_way_is_drawn_about_twice_as_often_as_another() -> None:
    rng = Random(5)
    drawn = [draw_ways(rng, share=1)["bravo"] for _ in range(2000)]
    usual, first, second = (drawn.count(way) for way in ways_of_saying()["bravo"])
    assert usual / 2000 == pytest.approx(0.5, abs=0.04)
    assert first / 2000 == pytest.approx(0.25, abs=0.04)
    assert second / 2000 == pytest.approx(0.25, abs=0.04)


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_a_share_outside_0_to_1_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="outside 0 to 1"):
        draw_ways(Random(1), share=share)
