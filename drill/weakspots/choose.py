"""Items that contain what the trainee misses.

Several candidates are composed for an item, and the one whose characters and words cost the trainee
most is chosen. Every item is therefore still a realistic call, no character dominates, and nothing
repeats often enough to be memorised.
"""

import random
from collections.abc import Iterable, Mapping
from dataclasses import replace

from drill.core.models import Item
from drill.items.plan import Plan, compose_item
from drill.records.sessions import RawAttempt
from drill.weakspots.statistics import label_costs_by_kind

CANDIDATES = 6
"""With six, a character that is always missed comes about twice as often as by chance."""
TRAINED_KINDS = ("character", "word")


def find_weaknesses(answers: Iterable[RawAttempt]) -> dict[str, float]:
    """Return the cost in dB of each character and word, keyed "character Q" or "word alfa".

    Positive costs need more SNR than the average. Labels with too few observations are left out.
    """
    return {
        f"{kind} {label}": round(cost.cost_db.value, 2)
        for kind, costs in label_costs_by_kind(list(answers), TRAINED_KINDS).items()
        for label, cost in costs.items()
        if cost.has_enough_data
    }


def choose_item(plan: Plan, number: int, weaknesses: Mapping[str, float]) -> Item:
    """Return item `number` of a plan: the hardest of CANDIDATES for this trainee.

    weaknesses: as `find_weaknesses` returns them. The candidates depend only on the plan's seed and
    the number.
    """
    rng = random.Random(f"faintcall {plan.seed} candidates {number}")
    candidates = [
        compose_item(replace(plan, seed=rng.getrandbits(48)), number) for _ in range(CANDIDATES)
    ]
    return max(candidates, key=lambda item: item_difficulty(item, weaknesses))


def item_difficulty(item: Item, weaknesses: Mapping[str, float]) -> float:
    """Return the mean cost in dB of an item's words and characters; 0 if none is known."""
    costs = [
        weaknesses[label]
        for word in item.message.words
        for label in (f"word {word.say}", *(f"character {c}" for c in word.means))
        if label in weaknesses
    ]
    return sum(costs) / len(costs) if costs else 0.0
