"""Where first steps became hard."""

from dataclasses import replace

import pytest

from drill.items.plan import Plan
from drill.session.first_limit import LEAST_TRIALS, FirstLimit, find_first_limit
from drill.session.kinds.first_steps import EASY_DB, WEAKEST_DB, FirstSteps
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items

PLAN = Plan(seed=3, count=30, mix="unassigned", voices=("tin",))


def limit_of(x50_db: float, seed: int = 1) -> FirstLimit:
    """Return the limit of a trainee who copies half of the characters at this SNR."""
    trainee = SimulatedTrainee(seed=seed, x50_db=x50_db, slope=1.5)
    limit = find_first_limit(answer_items(FirstSteps(plan=PLAN), trainee))
    assert limit is not None
    return limit


@pytest.mark.parametrize("seed", range(6))
def test_the_limit_lies_where_half_of_the_items_are_right(seed: int) -> None:
    limit = limit_of(4.0, seed)
    assert not limit.hard_from_the_start and not limit.never_hard
    # A trainee with half of the characters at 4 dB has half of five-character calls 1.3 dB above.
    assert limit.half_db.low < 5.3 < limit.half_db.high
    assert limit.answered == 29
    assert (limit.lowest_db, limit.highest_db) == (WEAKEST_DB, EASY_DB)


def test_all_right_was_never_hard() -> None:
    limit = limit_of(-40.0)
    assert limit.never_hard and not limit.hard_from_the_start
    assert limit.clear_right is True


def test_nothing_right_was_hard_from_the_start() -> None:
    limit = limit_of(90.0)
    assert limit.hard_from_the_start and not limit.never_hard
    assert limit.clear_right is False


def test_a_replayed_item_does_not_count_and_few_items_give_no_limit() -> None:
    attempts = answer_items(FirstSteps(plan=PLAN), SimulatedTrainee(x50_db=4.0))
    again = replace(attempts[5], answer=replace(attempts[5].answer, replays=1))
    limit = find_first_limit([*attempts[:5], again, *attempts[6:]])
    assert limit is not None and limit.answered == 28
    assert find_first_limit(attempts[:LEAST_TRIALS]) is None
