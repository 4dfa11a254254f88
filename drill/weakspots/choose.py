"""What to practise next: items that hold what the trainee was found to miss.

A call is composed several times over, and the one is taken whose characters and words are missed
most by what the record tells. So the items stay calls as they are on the air, no character crowds
out the others, and nothing repeats so that it could be memorised.
"""

import random
from collections.abc import Iterable, Mapping
from dataclasses import replace

from drill.core.models import Item
from drill.items.plan import Plan, compose_item
from drill.records.store import Raw
from drill.weakspots.statistics import costs

CANDIDATES = 6
"""The best of six: a character that is always missed comes about twice as often as by chance."""
KINDS = ("character", "word")


def find_weaknesses(rows: Iterable[Raw]) -> dict[str, float]:
    """Return how many dB more than the average each character and word needs, by "kind label".

    Only what was heard often enough to tell; the figures are shrunk.
    """
    return {
        f"{kind} {label}": round(offset.cost_db.value, 2)
        for kind, found in costs(list(rows), KINDS).items()
        for label, offset in found.items()
        if offset.has_enough_data
    }


def choose_item(plan: Plan, number: int, weak: Mapping[str, float]) -> Item:
    """Return item `number` of a plan, the hardest of CANDIDATES for this trainee."""
    seeds = random.Random(f"faintcall {plan.seed} candidates {number}")
    candidates = [
        compose_item(replace(plan, seed=seeds.getrandbits(48)), number) for _ in range(CANDIDATES)
    ]
    return max(candidates, key=lambda item: item_difficulty(item, weak))


def item_difficulty(item: Item, weak: Mapping[str, float]) -> float:
    """Return the mean cost in dB of what an item's words say, known ones only."""
    costs = [
        weak[label]
        for word in item.message.words
        for label in (f"word {word.say}", *(f"character {c}" for c in word.means))
        if label in weak
    ]
    return sum(costs) / len(costs) if costs else 0.0
