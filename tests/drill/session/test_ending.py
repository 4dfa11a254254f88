"""The ending of a practice session, in figures and in words."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.psychometrics.intervals import Interval
from drill.records.store import Store
from drill.session.ending import PracticeEnding, practice_ending
from drill.session.ending_wording import ending_score, ending_sentence, week_note, week_sentence
from drill.session.kinds.first_steps import FirstSteps
from drill.session.weeks import WeekComparison
from tests.drill.simulated_trainee import START, SimulatedTrainee, answer_items

PLAN = Plan(seed=3, count=12, mix="unassigned", voices=("tin",))


@pytest.fixture
def store(home: object) -> Iterator[Store]:
    with Store(record_file()) as opened:
        yield opened


def first_steps(store: Store, replays: int = 0) -> PracticeEnding:
    attempts = answer_items(FirstSteps(plan=PLAN), SimulatedTrainee(x50_db=-40.0))
    attempts[-1] = replace(attempts[-1], answer=replace(attempts[-1].answer, replays=replays))
    return practice_ending(PLAN, attempts, store, now=START)


def test_an_ending_has_counts_and_the_range_of_snr(store: Store) -> None:
    ending = first_steps(store)
    assert (ending.lowest_db, ending.highest_db, ending.week) == (-3.0, 15.0, None)
    assert ending_score(ending) == "12 of 12"
    characters = ending.tally.characters_sent
    assert ending_sentence(ending) == (
        "Calls right on first hearing at -3.0 to +15.0 dB SNR; "
        f"{characters} of {characters} characters right."
    )


def test_replayed_answers_are_distinguished(store: Store) -> None:
    ending = first_steps(store, replays=1)
    assert ending_score(ending) == "11 of 12"
    assert ", 1 more after a replay; " in ending_sentence(ending)


def test_without_noise_there_is_no_snr(store: Store) -> None:
    ending = replace(first_steps(store), lowest_db=None, highest_db=None)
    assert ending_sentence(ending).startswith("Calls right on first hearing without noise; ")


def week(low: float, high: float) -> WeekComparison:
    before, now = Interval(value=0.5, low=0.4, high=0.6), Interval(value=0.69, low=0.6, high=0.8)
    difference = Interval(value=0.19, low=low, high=high)
    return WeekComparison(
        snr_db=-2.1, before=before, now=now, difference=difference, n_before=110, n_now=92
    )


def test_a_change_is_reported_with_its_interval() -> None:
    shown = week(0.06, 0.32)
    assert week_sentence(shown) == ("At -2.1 dB you now copy 69 of 100; the week before it was 50.")
    assert week_note(shown) == (
        "Difference in 100 items at -2.1 dB: +19 (95 %: +6 to +32), from 92 items this week and "
        "110 the week before, chosen at random."
    )


def test_an_interval_that_includes_zero_is_not_reported_as_progress() -> None:
    assert week_sentence(week(-0.01, 0.32)) == (
        "Compared with the week before, no change is shown."
    )
