"""Sentences about where first steps became hard."""

from dataclasses import replace

from drill.psychometrics.intervals import Interval
from drill.session.first_limit import FirstLimit
from drill.session.first_limit_wording import first_limit_sentence

LIMIT = FirstLimit(
    clear_right=True,
    answered=29,
    right=17,
    lowest_db=-3.0,
    highest_db=15.0,
    half_db=Interval(value=4.2, low=1.8, high=6.9),
)


def test_the_sentence_names_the_snr_with_interval_and_number() -> None:
    assert first_limit_sentence(LIMIT) == (
        "It got hard at about +4 dB SNR: there half of the items are right (95 %: +2 to +7 dB), "
        "from 29 items heard once."
    )


def test_nothing_right_was_hard_without_noise() -> None:
    nothing = replace(LIMIT, clear_right=False, right=0)
    assert first_limit_sentence(nothing) == (
        "It was still hard without noise: the clear item was wrong, and 0 of 29 items heard once "
        "in noise were right."
    )
    clear = replace(nothing, clear_right=True)
    assert first_limit_sentence(clear).startswith("It was hard from the start, at +15 dB SNR: 0 of")


def test_all_right_did_not_get_hard() -> None:
    assert first_limit_sentence(replace(LIMIT, right=29)) == (
        "It did not get hard down to -3 dB SNR: 29 of 29 items heard once in noise were right."
    )
