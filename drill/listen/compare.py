"""An item without one of its stages, for comparison with the item itself."""

from dataclasses import replace

from drill.core.conditions import without_stage
from drill.core.models import Item


def item_without_stage(item: Item, stage: str) -> Item:
    """Return the item with one stage of the channel left out; everything else stays the same.

    stage: one of drill.core.conditions.STAGES.

    Raises: UserError if there is no such stage.
    """
    conditions = without_stage(item.conditions, stage)
    neighbours = item.neighbours if conditions.neighbours else ()
    return replace(item, conditions=conditions, neighbours=neighbours)
