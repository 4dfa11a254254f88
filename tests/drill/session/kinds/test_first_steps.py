"""First steps: from a clear call to weak ones."""

from itertools import pairwise
from pathlib import Path

import pytest

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.first_steps import EASY_DB, EASY_ITEMS, WEAKEST_DB, FirstSteps
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items


def steps(count: int = FirstSteps.default_count) -> FirstSteps:
    return FirstSteps(plan=Plan(seed=3, count=count, mix="unassigned", voices=("birch",)))


def test_the_first_call_has_no_noise_and_the_others_get_weaker() -> None:
    kind = steps()
    levels = [kind.item(number, []).conditions.snr_db for number in range(kind.count)]
    assert levels[0] is None
    weaker = [level for level in levels if level is not None]
    assert weaker[:EASY_ITEMS] == [EASY_DB] * EASY_ITEMS
    assert weaker[-1] == WEAKEST_DB
    assert all(later < earlier for earlier, later in pairwise(weaker[EASY_ITEMS - 1 :]))


@pytest.mark.parametrize("count", [1, 2, 4, 5])
def test_few_items_are_possible(count: int) -> None:
    kind = steps(count)
    levels = [kind.snr_db(number) for number in range(count)]
    assert levels[0] is None
    assert all(WEAKEST_DB <= level <= EASY_DB for level in levels if level is not None)


def test_the_description_gives_the_range() -> None:
    assert steps().description() == (
        "the first without noise, then from 15 to -3 dB in 3 kHz, steady path, seed 3"
    )


def test_the_result_says_where_it_got_hard(home: Path) -> None:
    kind = steps(30)
    attempts = answer_items(kind, SimulatedTrainee(x50_db=4.0, slope=1.5))
    with Store(record_file()) as store:
        (block,) = kind.result_blocks(attempts, store)
        assert kind.result_blocks(attempts[:4], store) == []
    assert block.sentences[0].startswith("It got hard at about +")
    assert "from 29 items heard once" in block.sentences[0]
