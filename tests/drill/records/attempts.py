"""Attempts and small records for the tests of drill.records."""

from datetime import UTC, datetime, timedelta

from drill.core.conditions import Conditions
from drill.core.models import Answer, Attempt, Item, Operator
from drill.core.paths import record_file
from drill.items.plan import Plan, compose_item
from drill.radio.presets import load_preset
from drill.records.store import Store
from drill.scoring.answers import score_answer
from phonetics.message import Field, Message, Word

NOW = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
PLAN = Plan(seed=1, count=3, mix="unassigned")
CALLS_PLAN = Plan(seed=4, count=4, mix="unassigned", conditions=Conditions(snr_db=None))
CALL = "E8ABC"


def make_attempt(typed: str = CALL, snr_db: float | None = -3.0, *, replays: int = 1) -> Attempt:
    """Return an answer to an item that consists of one call, E8ABC."""
    fields = (Field(name="call", kind="call", text=CALL),)
    item = Item(
        seed=5,
        message=Message(
            part="call",
            exchange="",
            call=CALL,
            fields=fields,
            words=(Word(say="echo", means="E", field="call"),),
        ),
        operator=Operator(name="birch", engine="natural", voice="heart", pitch_hz=120.0),
        conditions=Conditions(snr_db=snr_db),
    )
    return Attempt(
        answered_at=NOW.isoformat(),
        item=item,
        answer=Answer(typed=typed, seconds=1.5, replays=replays),
        scores=score_answer(fields, typed),
        version="test",
    )


def record_session(
    store: Store, plan: Plan, answers: list[str | None], *, now: datetime, mode: str
) -> str:
    """Record a session and its answers; return its id.

    answers: the typed lines; "right" means the call of the item, None means giving up.
    """
    identity = store.begin_session(plan, now=now, version="0.2.0", mode=mode)
    for number, line in enumerate(answers):
        item = compose_item(plan, number)
        typed = item.message.call if line == "right" else line or ""
        answer = Answer(typed=typed, seconds=1.25, replays=number % 3, gave_up=line is None)
        attempt = Attempt(
            answered_at=(now + timedelta(seconds=10 * number)).isoformat(),
            item=item,
            answer=answer,
            scores=score_answer(item.message.fields, typed),
            version="0.2.0",
        )
        store.add_attempt(identity, number, attempt)
    return identity


def fill_record() -> tuple[str, str]:
    """Fill the user's record with two sessions; return their ids.

    Four calls without noise (practice), and two overs in a busy band (training) 40 days later.
    """
    busy = load_preset("busy-weekend").conditions
    overs = Plan(seed=5, count=3, part="over", exchange="area", mix="unassigned", conditions=busy)
    with Store(record_file()) as store:
        answers = ["right", "E8?", None, 'a,"b"\té']
        first = record_session(store, CALLS_PLAN, answers, now=NOW, mode="practice")
        later = NOW + timedelta(days=40)
        second = record_session(store, overs, ["right 59 AB", ""], now=later, mode="training")
    return first, second
