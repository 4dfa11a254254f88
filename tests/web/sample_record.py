"""A record that a simulated listener has filled, for pages that show results."""

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.kinds.quick_check import QuickCheck
from tests.drill.simulated_trainee import record_session

OPERATORS = ("tin", "wren")


def sample_plan(seed: int, count: int, part: str = "call") -> Plan:
    """Return a plan whose items are composed and synthesised quickly."""
    return Plan(seed=seed, count=count, part=part, mix="unassigned", voices=OPERATORS)


def fill_record() -> dict[str, str]:
    """Fill the record of this home; return the sessions' identities by name.

    Two measurements, a quick check, a practice session of whole overs with some mistakes, and a
    practice session and a measurement that are unfinished.
    """
    with Store(record_file()) as store:
        return {
            "first block": record_session(
                store, Measurement.from_plan(sample_plan(1, 30), store), day=0
            ),
            "second block": record_session(
                store, Measurement.from_plan(sample_plan(2, 30), store), day=7
            ),
            "check": record_session(store, QuickCheck(plan=sample_plan(5, 12)), day=8),
            "practice": record_session(store, Practice(plan=sample_plan(3, 8, "over")), day=9),
            "open practice": record_session(
                store, Practice(plan=sample_plan(4, 10)), day=10, most=4
            ),
            "open block": record_session(
                store, Measurement.from_plan(sample_plan(6, 30), store), day=11, most=3
            ),
        }
