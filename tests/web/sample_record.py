"""A record that a simulated listener made: what the pages show when there is something to show."""

from datetime import timedelta

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.quick_check import QuickCheck
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.base import SessionKind
from drill.session.kinds.practice import Practice
from tests.drill.typist import START, Typist, run

VOICES = ("tin", "wren")


def plan(seed: int, count: int, part: str = "call") -> Plan:
    return Plan(seed=seed, count=count, part=part, mix="unassigned", voices=VOICES)


def keep(store: Store, course: SessionKind, day: int, most: int = 1000) -> str:
    """Have the listener go through a course, or its first items; return the sitting's identity."""
    begun = START + timedelta(days=day)
    identity = store.begin_session(
        course.plan, now=begun, version="test", mode=course.stored_name, course=course.to_dict()
    )
    for number, attempt in enumerate(run(course, Typist(seed=day, x50_db=-9.0), most, day)):
        store.add_attempt(identity, number, attempt)
    return identity


def fill() -> dict[str, str]:
    """Fill the record of this home; return the sittings' identities by what they are.

    Two measuring blocks, overs in practice with some mistakes, a measuring block and a practice
    that were left open.
    """
    with Store(record_file()) as store:
        return {
            "first block": keep(store, Measurement.from_plan(plan(1, 30), store), 0),
            "second block": keep(store, Measurement.from_plan(plan(2, 30), store), 7),
            "check": keep(store, QuickCheck(plan=plan(5, 12)), 8),
            "practice": keep(store, Practice(plan=plan(3, 8, "over")), 9),
            "open practice": keep(store, Practice(plan=plan(4, 10)), 10, most=4),
            "open block": keep(store, Measurement.from_plan(plan(6, 30), store), 11, most=3),
        }
