"""Sentences about today's recommendation."""

from datetime import datetime

import pytest

from drill.session import today
from drill.session.kinds.training import Training
from drill.session.today import EasyScore, MissedCharacter, Recommendation
from drill.session.today_wording import describe_today

MORNING, EVENING = datetime(2026, 3, 1, 9), datetime(2026, 3, 1, 20)


def recommendation(reason: str, **values: object) -> Recommendation:
    return Recommendation(reason=reason, kind=Training, **values)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("hour", "word"), [(3, "Tonight"), (4, "Today"), (17, "Today"), (18, "Tonight")]
)
def test_the_clock_decides_on_today_or_tonight(hour: int, word: str) -> None:
    text = describe_today(recommendation(today.NEW), now=datetime(2026, 3, 1, hour))
    assert (text.when, text.title) == (word, "your first ten minutes")


def test_a_missed_character_is_reported_with_its_figures() -> None:
    missed = MissedCharacter(character="9", missed=7, sent=31, typed="5")
    text = describe_today(recommendation(today.MISSED, missed=missed), now=EVENING)
    assert (text.when, text.title) == ("Tonight", "ten minutes on 9 and 5")
    assert text.why.startswith("You missed 9 (nine) 7 times in 31, most often for 5 (five).")


def test_without_a_confusion_only_the_character_is_reported() -> None:
    missed = MissedCharacter(character="Q", missed=4, sent=9)
    text = describe_today(recommendation(today.MISSED, missed=missed), now=MORNING)
    assert (text.when, text.title) == ("Today", "ten minutes on Q")
    assert text.why.startswith("You missed Q (quebec) 4 times in 9.")


@pytest.mark.parametrize(
    ("reason", "why"),
    [
        (today.FIRST_MEASUREMENT, "You have heard 21 items"),
        (today.OLD_MEASUREMENT, "Your last measurement is 1 day old."),
        (today.OLD_TAKE, "You last practised sending 1 day ago."),
        (today.PRACTISE, "There are too few answers yet to say what you miss most."),
    ],
)
def test_every_reason_is_reported(reason: str, why: str) -> None:
    text = describe_today(recommendation(reason, days=1, answered=21), now=MORNING)
    assert text.why.startswith(why)
    assert text.begin


def test_with_enough_answers_no_character_stands_out() -> None:
    text = describe_today(recommendation(today.PRACTISE, answered=60), now=MORNING)
    assert text.why.startswith("No character that you miss stands out.")


def test_a_bad_evening_is_followed_by_slower_and_clearer_calls() -> None:
    bad = recommendation(today.TOO_HARD, easy=EasyScore(right=0, answered=12))
    text = describe_today(bad, now=EVENING)
    assert text.title == "ten minutes of clear calls"
    assert text.why == (
        "You had 0 of 12 easy items right on first hearing: tonight slower and clearer, without "
        "noise."
    )


def test_after_ten_minutes_more_is_possible() -> None:
    text = describe_today(recommendation(today.PRACTISE, answered=80, today=30), now=EVENING)
    assert text.title == "your ten minutes are done"
    assert text.why.startswith("You answered 30 items today. If you like more: ten minutes of ")
    assert text.begin == "More: ten minutes of calls"
