"""Training items contain the characters that the trainee misses."""

from dataclasses import replace

import pytest

from drill.items.plan import compose_item
from drill.session.kinds.practice import Practice
from drill.weakspots.choose import CANDIDATES, choose_item, find_weaknesses, item_difficulty
from drill.weakspots.statistics import label_costs_by_kind
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items
from tests.drill.weakspots.answers import PLAN, as_recorded


def test_difficulty_is_the_mean_cost_of_known_labels() -> None:
    item = compose_item(PLAN, 3)
    assert item_difficulty(item, {}) == 0.0
    letters = {f"character {character}": 2.0 for character in item.message.call}
    assert item_difficulty(item, letters) == pytest.approx(2.0)
    assert item_difficulty(item, {"character ?": 5.0}) == 0.0


def test_a_chosen_item_depends_only_on_seed_number_and_weaknesses() -> None:
    weaknesses = {"character Q": 4.0}
    assert choose_item(PLAN, 3, weaknesses) == choose_item(PLAN, 3, weaknesses)
    longer = replace(PLAN, count=PLAN.count + 1)
    assert choose_item(longer, 3, weaknesses).message == choose_item(PLAN, 3, weaknesses).message


def test_a_weak_character_comes_about_twice_as_often() -> None:
    weaknesses = {"character Q": 4.0}
    chosen = [choose_item(PLAN, n, weaknesses).message.call.count("Q") for n in range(300)]
    composed = [compose_item(PLAN, n).message.call.count("Q") for n in range(300)]
    assert 1.4 * sum(composed) < sum(chosen) < CANDIDATES * sum(composed)


def test_weaknesses_are_the_costs_of_labels_with_enough_data() -> None:
    answers = as_recorded(
        answer_items(Practice(plan=replace(PLAN, count=150)), SimulatedTrainee(x50_db=-2.0))
    )
    weaknesses = find_weaknesses(answers)
    costs = label_costs_by_kind(answers)
    expected = {
        f"{kind} {label}": round(cost.cost_db.value, 2)
        for kind in ("character", "word")
        for label, cost in costs[kind].items()
        if cost.n >= 30
    }
    assert weaknesses == expected
    assert 0 < len(weaknesses) < len(costs["character"]) + len(costs["word"])
