"""Removing one stage from an item leaves everything else unchanged."""

from dataclasses import replace

import pytest

from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.items.plan import Plan, compose_item
from drill.listen.compare import item_without_stage
from drill.radio.presets import load_preset

ITEM = compose_item(
    Plan(seed=3, count=1, conditions=load_preset("busy-weekend").conditions, mix="unassigned"), 0
)


def test_without_neighbours_their_words_are_removed_too() -> None:
    without = item_without_stage(ITEM, "neighbours")
    assert without.neighbours == ()
    conditions = replace(ITEM.conditions, neighbours=())
    assert without == replace(ITEM, conditions=conditions, neighbours=())


def test_removing_another_stage_keeps_the_neighbours() -> None:
    without = item_without_stage(ITEM, "fading")
    assert without.conditions.fading == Conditions().fading
    assert without.neighbours == ITEM.neighbours
    assert replace(without, conditions=ITEM.conditions) == ITEM


def test_an_unknown_stage_lists_the_known_ones() -> None:
    with pytest.raises(UserError, match=r"'fog'.*processing"):
        item_without_stage(ITEM, "fog")
