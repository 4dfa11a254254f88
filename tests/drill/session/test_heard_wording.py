"""Sentences about how the words of an item arrived."""

from dataclasses import replace

import pytest

from drill.items.heard_words import HeardWord
from drill.session.heard_wording import describe_words, level_phrase

KILO = HeardWord(
    say="kilo", means="K", field="call", start_s=0.6, end_s=1.0, snr_db=4.4, faded_db=-1.0,
    others_db=0.5,
)  # fmt: skip


def test_a_word_that_arrived_well_is_reported_with_its_level() -> None:
    assert describe_words([KILO]) == ("1. kilo, K: 4 dB above the noise.",)


def test_the_reasons_why_a_missed_word_was_hard_are_reported() -> None:
    hard = replace(KILO, snr_db=-7.6, faded_db=-12.2, others_db=5.1)
    assert describe_words([KILO, hard], missed={1})[1] == (
        "2. kilo, K, missed: 8 dB below the noise, faded by 12 dB, covered by other sounds "
        "5 dB above the noise."
    )


def test_without_noise_nothing_is_reported_about_it() -> None:
    clean = replace(KILO, snr_db=None, others_db=None)
    assert describe_words([clean]) == ("1. kilo, K: without noise.",)


@pytest.mark.parametrize(
    ("say", "means", "sentence"),
    [
        ("norway", "N", " 'norway' is N; the ITU's word is November."),
        ("november", "N", ""),
        ("oh", "0", " 'oh' is 0."),
        ("twenty-one", "21", " 'twenty-one' is 21."),
        ("fife", "5", " 'fife' is 5."),
        ("five", "5", ""),
        ("portable", "/P", " 'portable' is /P."),
        ("stroke", "/", " 'stroke' is /."),
        ("roger", "", ""),
    ],
)
def test_words_that_are_not_the_usual_ones_are_explained(
    say: str, means: str, sentence: str
) -> None:
    (line,) = describe_words([replace(KILO, say=say, means=means)])
    assert line.split(": ", 1)[1] == f"4 dB above the noise.{sentence}"


def test_a_doubled_digit_is_explained() -> None:
    words = [replace(KILO, say="double", means=""), replace(KILO, say="five", means="55")]
    assert describe_words(words)[1].endswith(" 'double five' is 55.")


@pytest.mark.parametrize(
    ("snr_db", "phrase"),
    [
        (0.4, "as strong as the noise"),
        (-0.6, "1 dB below the noise"),
        (9.5, "10 dB above the noise"),
    ],
)
def test_levels_are_reported_in_whole_decibels(snr_db: float, phrase: str) -> None:
    assert level_phrase(snr_db) == phrase
