"""Practice: the plan's items as they are."""

from drill.core.conditions import Conditions
from drill.items.plan import Plan, compose_item
from drill.session.kinds.practice import Practice


def test_every_item_is_that_of_the_plan() -> None:
    plan = Plan(seed=3, count=4, conditions=Conditions(snr_db=-2.0), voices=("tin",))
    practice = Practice(plan=plan)
    assert [practice.item(number, ()) for number in range(4)] == [
        compose_item(plan, number) for number in range(4)
    ]
    assert practice.allows_replays
    assert practice.gives_feedback
    assert not practice.repeats_misses
