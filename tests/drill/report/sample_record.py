"""Records of simulated trainees for the tests of the report."""

from datetime import UTC, datetime, timedelta

from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.base import SessionKind
from tests.drill.simulated_trainee import START, SimulatedTrainee, answer_items

REPORT_TIME = datetime(2026, 6, 1, tzinfo=UTC)


def make_plan(seed: int, count: int = 40) -> Plan:
    return Plan(seed=seed, count=count, mix="unassigned", voices=("tin", "wren"))


def save_session(store: Store, kind: SessionKind, trainee: SimulatedTrainee, day: int) -> str:
    """Run a simulated trainee through a session, save it and return its id.

    day: days from START to the session.
    """
    session = store.begin_session(
        kind.plan,
        now=START + timedelta(days=day),
        version="test",
        mode=kind.stored_name,
        course=kind.to_dict(),
    )
    for number, attempt in enumerate(answer_items(kind, trainee, day=day)):
        store.add_attempt(session, number, attempt)
    return session
