"""The verdicts on the contacts of a hunt.

The kinds of fault are those of log checking in contests: common practice, no source.
"""

from hypothesis import given
from hypothesis import strategies as st

from drill.contact.notes import LogEntry
from drill.hunt.checking import (
    DUPLICATE,
    LOST_THERE,
    NOT_IN_MY_LOG,
    NOT_IN_THEIR_LOG,
    RIGHT,
    VERDICTS,
    WRONG_CALL,
    WRONG_EXCHANGE,
    compare_hunt_logs,
    contacts_by_quarter_hour,
    count_verdicts,
    verdict_on,
)
from tests.drill.contact.scripted_trainee import OWN
from tests.drill.hunt.checked import checked


def test_every_verdict_is_reached() -> None:
    assert checked().verdict == RIGHT
    assert checked(logged="OH2QRA 212").verdict == WRONG_CALL
    assert checked(logged="OH2QRK 213").verdict == WRONG_EXCHANGE
    assert checked(theirs=None).verdict == NOT_IN_THEIR_LOG
    assert checked(theirs=("E87APC", "034")).verdict == LOST_THERE
    assert checked(theirs=("E87ABC", "035")).verdict == LOST_THERE
    assert checked(logged=None).verdict == NOT_IN_MY_LOG
    assert checked(worked=("OH2QRK",)).verdict == DUPLICATE


def test_the_trainees_own_error_decides_first() -> None:
    assert checked(logged="OH2QRA 213", theirs=("E87APC", "034")).verdict == WRONG_CALL
    assert checked(logged="OH2QRA 212", theirs=None).verdict == WRONG_CALL


def test_a_duplicate_neither_counts_nor_is_lost() -> None:
    again = checked(worked=("OH2QRK",))
    assert not again.is_right
    assert not again.is_lost
    assert checked(worked=("OH2QRA",)).is_right


def test_a_line_without_a_station_is_not_in_their_log() -> None:
    entry = LogEntry(call="OH2QRK", exchange="59 212")
    logs = compare_hunt_logs(own=OWN, far=None, entry=entry, lines=[])
    assert verdict_on(logs, worked=()) == NOT_IN_THEIR_LOG
    assert logs.my_call == "OH2QRK"
    assert logs.given_call == ""


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["", "OH2QRA 212", "OH2QRK 213"]),
            st.sampled_from([None, ("E87ABC", "034"), ("E87APC", "034")]),
            st.floats(0, 7200),
        ),
        max_size=20,
    ),
    st.floats(1, 120),
)
def test_counts_and_quarter_hours_add_up(
    cases: list[tuple[str, tuple[str, str] | None, float]], minutes: float
) -> None:
    contacts = [checked(logged=logged, theirs=theirs, at_s=at) for logged, theirs, at in cases]
    counts = count_verdicts(contacts)
    assert sum(counts.values()) == len(contacts)
    assert list(counts) == [name for name in VERDICTS if name in counts]
    quarters = contacts_by_quarter_hour(contacts, minutes=minutes)
    assert sum(right for right, _ in quarters) == counts.get(RIGHT, 0)
    assert sum(logged for _, logged in quarters) == len(contacts)
    assert (len(quarters) - 1) * 15 < max(minutes, 1e-6)


def test_quarter_hours_of_an_hour() -> None:
    contacts = [checked(at_s=minute * 60.0) for minute in (1, 14, 15, 59)]
    contacts.append(checked(logged=None, at_s=1000.0))
    assert contacts_by_quarter_hour(contacts, minutes=60) == ((2, 2), (1, 1), (0, 0), (1, 1))
