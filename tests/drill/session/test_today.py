"""The recommendation for today, from the content of the record."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.psychometrics.grid import Prior
from drill.psychometrics.placement import Placement
from drill.records.store import Store
from drill.session import today
from drill.session.evening import MOST_ITEMS
from drill.session.kinds.first_steps import FirstSteps
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.kinds.training import Training
from drill.session.today import LEAST_EASY_ANSWERS, MissedCharacter, most_missed, recommend
from drill.weakspots.statistics import CharacterEvidence
from tests.drill.simulated_trainee import START, SimulatedTrainee, record_session

NOW = START + timedelta(hours=1)


@pytest.fixture
def store(home: Path) -> Iterator[Store]:
    with Store(record_file()) as opened:
        yield opened


def practise(
    store: Store, count: int, *, day: int = 0, hard: dict[str, float] | None = None
) -> None:
    plan = Plan(seed=3, count=count, mix="unassigned", voices=("birch",))
    trainee = SimulatedTrainee(x50_db=-12.0, hard=hard)
    record_session(store, Practice(plan=plan), trainee, day=day)


def measure(store: Store, *, day: int = 0) -> None:
    plan = Plan(seed=4, count=24, mix="unassigned", voices=("birch",))
    kind = Measurement(plan=plan, placement=Placement(seed=4, prior=Prior()))
    record_session(store, kind, SimulatedTrainee(x50_db=-12.0), day=day)


def evidence(character: str, typed: str) -> CharacterEvidence:
    return CharacterEvidence(
        character=character, typed=typed, right=character == typed, snr_db=0.0, word="",
        word_style="", operator="", fading="", conditions="", position="",
    )  # fmt: skip


def test_a_newcomer_gets_first_steps(store: Store) -> None:
    recommendation = recommend(store, now=NOW)
    assert (recommendation.reason, recommendation.kind) == (today.NEW, FirstSteps)
    assert recommendation.kind is not None
    session = recommendation.kind.create(recommendation.options(), store)
    assert (session.count, recommendation.ten_minutes_done) == (30, False)


def test_after_a_bad_evening_slow_calls_without_noise_come_first(store: Store) -> None:
    plan = Plan(seed=3, count=30, mix="unassigned", voices=("birch",))
    nothing_copied = SimulatedTrainee(x50_db=90.0)
    record_session(store, FirstSteps(plan=plan), nothing_copied)
    recommendation = recommend(store, now=NOW)
    assert (recommendation.reason, recommendation.kind) == (today.TOO_HARD, Practice)
    assert recommendation.easy is not None
    assert recommendation.easy.right == 0 < LEAST_EASY_ANSWERS <= recommendation.easy.answered
    assert recommendation.ten_minutes_done
    session = Practice.create(recommendation.options(), store)
    assert session.plan.conditions.snr_db is None
    assert session.plan.pace < 1
    record_session(store, session, SimulatedTrainee(x50_db=-12.0))
    assert recommend(store, now=NOW).kind is Measurement


def test_the_next_day_has_ten_minutes_of_its_own(store: Store) -> None:
    practise(store, 21)
    assert recommend(store, now=NOW).today == 21
    assert not recommend(store, now=NOW + timedelta(days=1)).ten_minutes_done


def test_after_twenty_answers_a_measurement_comes_first(store: Store) -> None:
    practise(store, 19)
    assert recommend(store, now=NOW).kind is Training
    practise(store, 2)
    recommendation = recommend(store, now=NOW)
    assert (recommendation.reason, recommendation.kind) == (today.FIRST_MEASUREMENT, Measurement)
    assert recommendation.answered == 21


def test_an_old_measurement_is_renewed(store: Store) -> None:
    measure(store)
    assert recommend(store, now=NOW).kind is Training
    recommendation = recommend(store, now=START + timedelta(days=16))
    assert (recommendation.reason, recommendation.days) == (today.OLD_MEASUREMENT, 16)


def test_the_sending_drill_comes_back_after_three_weeks(store: Store) -> None:
    measure(store, day=25)
    store.add_take({"kind": "call"}, {"right": True}, now=START, version="test")
    assert recommend(store, now=START + timedelta(days=26)).reason == today.OLD_TAKE
    later = START + timedelta(days=25)
    store.add_take({"kind": "call"}, {"right": True}, now=later, version="test")
    assert recommend(store, now=START + timedelta(days=26)).kind is Training


def test_a_character_that_is_often_missed_is_named(store: Store) -> None:
    measure(store)
    practise(store, 60, hard={"E": 40.0})
    recommendation = recommend(store, now=NOW)
    assert recommendation.reason == today.MISSED
    assert recommendation.missed is not None
    assert recommendation.missed.character == "E"
    assert recommendation.missed.missed > recommendation.missed.sent / 2


def test_the_options_begin_the_session(store: Store) -> None:
    measure(store)
    recommendation = recommend(store, now=NOW)
    assert recommendation.kind is not None
    session = recommendation.kind.create(recommendation.options(), store)
    assert session.count == recommendation.count == MOST_ITEMS  # at 8 s an item


def test_a_character_needs_enough_evidence() -> None:
    assert most_missed([evidence("Q", "K")] * 7) is None
    assert most_missed([evidence("Q", "Q")] * 40 + [evidence("Q", "K")] * 5) is None


@pytest.mark.parametrize(
    ("typed", "named"), [(["K", "K", "?", ""], "K"), (["K", "E", "?", ""], ""), (["?"] * 4, "")]
)
def test_the_character_typed_instead_is_named_only_if_it_repeats(
    typed: list[str], named: str
) -> None:
    seen = [evidence("Q", "Q")] * 6 + [evidence("Q", text) for text in typed]
    assert most_missed(seen) == MissedCharacter(character="Q", missed=4, sent=10, typed=named)


def test_times_are_compared_across_time_zones(store: Store) -> None:
    measure(store)
    eastern = datetime.fromisoformat("2026-03-20T09:00:00+09:00")
    assert recommend(store, now=eastern).days == (eastern.astimezone(UTC) - START).days
