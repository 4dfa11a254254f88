"""What comes next in every kind of sitting: levels, order, resuming, what never repeats."""

import json
from dataclasses import replace

import numpy as np
import pytest

from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.items.plan import Plan
from drill.psychometrics.placement import MEASUREMENT_TARGETS, PRACTICE_TARGETS, Placement
from drill.session.blocks import setup
from drill.session.courses import (
    Arm,
    Checking,
    Comparing,
    Course,
    Measuring,
    Practising,
    Training,
    course_from,
)
from drill.weakspots.choose import choose_item, item_difficulty
from tests.drill.typist import Typist, run

PLAN = Plan(seed=5, count=30, mix="unassigned", voices=("tin", "wren"))
OTHER = replace(PLAN, alternates=0.9)
COURSES: dict[str, Course] = {
    "practice": Practising(plan=PLAN),
    "training": Training(
        plan=PLAN, placement=Placement(seed=5, targets=PRACTICE_TARGETS), weak={"character Q": 3.0}
    ),
    "measuring": Measuring(plan=PLAN, placement=Placement(seed=5, warm_ups=5), until_db=2.0),
    "quick": Checking(plan=PLAN),
    "comparing": Comparing(
        plan=PLAN,
        arms=(Arm(label="one", plan=PLAN), Arm(label="two", plan=OTHER)),
        placement=Placement(seed=5, warm_ups=2),
    ),
}


@pytest.mark.parametrize("name", COURSES)
def test_a_course_is_told_again_from_its_record(name: str) -> None:
    course = COURSES[name]
    data = json.loads(json.dumps(course.to_dict()))
    plan = Plan.from_dict(json.loads(json.dumps(course.plan.to_dict())))
    assert course_from(course.mode, plan, data) == course


@pytest.mark.parametrize("name", COURSES)
def test_an_item_follows_from_the_answers_before_it_alone(name: str) -> None:
    """Resumed at any point, and with later answers known, every item is the one it was."""
    course = COURSES[name]
    attempts = run(course, Typist())
    assert len(attempts) == course.count
    for number in (0, 3, 11, 20, len(attempts) - 1):
        assert course.item(number, attempts[:number]) == attempts[number].item
        assert course.item(number, attempts) == attempts[number].item


@pytest.mark.parametrize("name", COURSES)
def test_what_is_said_needs_no_answer(name: str) -> None:
    """It is spoken ahead, before the last answers are given; only the SNR hangs on them."""
    course = COURSES[name]
    attempts = run(course, Typist(), most=12)
    for number in range(1, 12):
        ahead = course.said(number)
        assert ahead.message == attempts[number].item.message
        assert ahead.operator == attempts[number].item.operator
        assert ahead.seed == attempts[number].item.seed


@pytest.mark.parametrize("name", COURSES)
def test_no_call_comes_twice(name: str) -> None:
    calls = [a.item.message.call for a in run(COURSES[name], Typist())]
    assert len(set(calls)) == len(calls)


def test_a_kind_of_a_newer_version_is_refused_in_a_line() -> None:
    with pytest.raises(UserError, match=r"'hunting'.*newer faintcall"):
        course_from("hunting", PLAN, {})


def test_measuring_warms_up_and_then_aims_at_its_targets() -> None:
    course = Measuring(plan=replace(PLAN, count=120), placement=Placement(seed=3, warm_ups=5))
    attempts = run(course, Typist())
    levels = [a.item.conditions.snr_db for a in attempts]
    assert levels[:5] == [10.0] * 5
    trials = course.trials(attempts)
    assert [t.warm_up for t in trials] == [True] * 5 + [False] * 120
    late = [t.right for t in trials[45:]]
    assert np.mean(late) == pytest.approx(np.mean(MEASUREMENT_TARGETS), abs=0.15)


def test_measuring_ends_when_it_is_precise_and_not_before_40() -> None:
    course = Measuring(plan=replace(PLAN, count=400), placement=Placement(seed=3), until_db=2.0)
    attempts = run(course, Typist(slope=1.2))
    assert 40 <= len(attempts) < 400
    assert course.finished(attempts)
    assert not course.finished(attempts[:-1])
    assert not replace(course, until_db=0.5).finished(attempts)


def test_training_keeps_most_items_right() -> None:
    course = Training(
        plan=replace(PLAN, count=150), placement=Placement(seed=3, targets=PRACTICE_TARGETS)
    )
    right = [a.right for a in run(course, Typist())]
    assert np.mean(right[30:]) == pytest.approx(np.mean(PRACTICE_TARGETS), abs=0.1)


def test_training_draws_half_by_what_is_missed() -> None:
    weak = {"character Q": 4.0, "word victor": 4.0}
    course = Training(
        plan=replace(PLAN, count=200),
        placement=Placement(seed=3, targets=PRACTICE_TARGETS),
        weak=weak,
    )
    said = [course.said(n) for n in range(200)]
    hard = [item_difficulty(item, weak) for item in said]
    assert np.mean(hard[1::2]) > np.mean(hard[0::2]) + 0.5
    plain = [Practising(plan=course.plan).said(n) for n in range(0, 200, 2)]
    assert said[0::2] == plain


def test_difficulty_is_the_mean_of_what_is_known() -> None:
    item = choose_item(PLAN, 3, {})
    assert item_difficulty(item, {}) == 0.0
    letters = {f"character {c}": 2.0 for c in item.message.call}
    assert item_difficulty(item, letters) == pytest.approx(2.0)


def test_a_comparison_has_each_arm_once_a_round_in_a_shuffled_order() -> None:
    arms = tuple(Arm(label=f"{n}", plan=replace(PLAN, pace=1 + n / 10)) for n in range(3))
    course = Comparing(plan=arms[0].plan, arms=arms, placement=Placement(seed=1))
    order = [course.arm(n) for n in range(course.count)]
    rounds = [tuple(order[n : n + 3]) for n in range(0, len(order), 3)]
    assert {tuple(sorted(one)) for one in rounds} == {(0, 1, 2)}
    assert len(set(rounds)) > 3
    attempts = run(course, Typist())
    assert [len(course.trials(arm, attempts)) for arm in range(3)] == [30, 30, 30]


def test_arms_are_placed_apart() -> None:
    """The listener needs 8 dB more for the second arm, and its levels go there."""

    class Deafer(Typist):
        def types(self, item: object) -> str:
            self._x50_db = -7.0 if item.operator.name == "tin" else 1.0  # type: ignore[attr-defined]
            return super().types(item)  # type: ignore[arg-type]

    arms = tuple(Arm(label=v, plan=replace(PLAN, voices=(v,))) for v in ("tin", "wren"))
    course = Comparing(plan=arms[0].plan, arms=arms, placement=Placement(seed=1))
    attempts = run(course, Deafer())
    levels = [np.mean([t.snr_db for t in course.trials(arm, attempts)[10:]]) for arm in (0, 1)]
    assert levels[1] - levels[0] == pytest.approx(8, abs=2.5)


@pytest.mark.parametrize("labels", [(), ("one",), ("one", "one")])
def test_a_comparison_needs_two_different_things(labels: tuple[str, ...]) -> None:
    arms = tuple(Arm(label=label, plan=PLAN) for label in labels)
    with pytest.raises(UserError, match="two or more"):
        Comparing(plan=PLAN, arms=arms, placement=Placement(seed=1))


def test_blocks_compare_where_all_but_seed_count_and_snr_is_the_same() -> None:
    alike = replace(PLAN, seed=9, count=4, conditions=Conditions(snr_db=7.0, name="mine"))
    assert setup(alike) == setup(PLAN)
    assert setup(replace(PLAN, exchange="zone-itu")) == setup(PLAN)  # no exchange in a lone call
    for other in (
        replace(PLAN, voices=("tin",)),
        replace(PLAN, pace=1.2),
        replace(PLAN, alternates=0.5),
        replace(PLAN, mix="world"),
        replace(PLAN, part="over"),
    ):
        assert setup(other) != setup(PLAN)
