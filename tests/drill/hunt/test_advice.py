"""Advice needs a reason in the record, and the costliest habit comes first."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.hunt.advice import (
    ADVISED_PHASES,
    ASK_AGAIN,
    CALL_AGAIN,
    HUNT_ADVICE,
    LEAST_COST_S,
    LEAVE_SOONER,
    LISTEN_FIRST,
    LOG_IT,
    MAX_ADVICE,
    MEND_AT_ONCE,
    NOT_TWICE,
    STOP_THERE,
    WAIT_FOR_END,
    HuntFacts,
    best_advice,
)
from drill.hunt.checking import CheckedContact
from drill.hunt.results import JudgedStop, StationOption
from drill.hunt.stops import HUNT_PHASES
from tests.drill.hunt.checked import HZ, checked
from tests.drill.hunt.hunts import judged, stop


def facts(
    *stops: JudgedStop,
    contacts: tuple[CheckedContact, ...] = (),
    passed: tuple[StationOption, ...] = (),
) -> HuntFacts:
    return HuntFacts(seconds=3600.0, tuning_s=600.0, contacts=contacts, stops=stops, passed=passed)


SILENT = stop(replied=False, times_s=(10.0, 300.0, 0.0, 0.0), calls=9, too_long_s=250.0)


def test_a_hunt_without_a_fault_gets_no_advice() -> None:
    contacts = tuple(checked(at_s=60.0 * n) for n in range(12))
    stops = [judged(stop(), contact=n, expected_s=30.0) for n in range(12)]
    assert best_advice(facts(*stops, contacts=contacts)) == ()
    assert best_advice(facts()) == ()


def test_leaving_too_late_needs_a_better_station() -> None:
    only = judged(SILENT, expected_s=1000.0)
    better = judged(SILENT, expected_s=1000.0, better_s=40.0)
    assert best_advice(facts(only)) == ()
    (advice,) = best_advice(facts(only, better))
    assert (advice.kind, advice.cost_s, advice.count, advice.stop) == (LEAVE_SOONER, 250.0, 1, 1)


def test_calling_without_the_call_is_compared_with_waiting_for_it() -> None:
    waited = [judged(stop(times_s=(10.0, 5.0, 0.0, 10.0))) for _ in range(3)]
    blind = [judged(stop(times_s=(0.0, 5.0, 0.0, 50.0), knew_call=False)) for _ in range(4)]
    (advice,) = best_advice(facts(*waited, *blind))
    assert (advice.kind, advice.count, advice.stop) == (LISTEN_FIRST, 4, 3)
    assert advice.seconds == pytest.approx(30.0)  # 55 s compared with 25 s
    assert advice.cost_s == pytest.approx(120.0)
    assert best_advice(facts(*waited[:2], *blind)) == ()  # too few stops for a comparison


@pytest.mark.parametrize(
    ("kind", "contact", "mistakes"),
    [
        (MEND_AT_ONCE, checked(theirs=("E87APC", "034")), ("exchange-while-wrong",)),
        (WAIT_FOR_END, checked(theirs=None), ()),
        (ASK_AGAIN, checked(logged="OH2QRA 212"), ()),
        (ASK_AGAIN, checked(logged="OH2QRK 213"), ()),
        (LOG_IT, checked(logged=None), ()),
    ],
)
def test_a_lost_contact_costs_the_mean_time_of_a_contact(
    kind: str, contact: CheckedContact, mistakes: tuple[str, ...]
) -> None:
    contacts = (checked(), checked(), contact)
    entry = judged(stop(), contact=2, mistakes=mistakes)
    (advice,) = best_advice(facts(entry, contacts=contacts))
    assert (advice.kind, advice.count, advice.stop) == (kind, 1, 0)
    logged = sum(c.number is not None for c in contacts)
    assert advice.cost_s == pytest.approx(3600 / logged)


def test_a_duplicate_costs_the_time_that_it_took() -> None:
    contacts = (checked(), checked(worked=("OH2QRK",)))
    (advice,) = best_advice(facts(judged(stop(), contact=1), contacts=contacts))
    assert (advice.kind, advice.cost_s) == (NOT_TWICE, 25.0)


def test_calling_again_is_advised_where_the_station_would_soon_have_answered() -> None:
    left = stop(replied=False, calls=1)
    (advice,) = best_advice(
        facts(judged(left, expected_s=20.0), judged(left, expected_s=900.0), contacts=(checked(),))
    )
    assert (advice.kind, advice.count, advice.stop, advice.seconds) == (CALL_AGAIN, 1, 0, 20.0)


def test_stations_that_would_soon_answer_should_be_called() -> None:
    passed = tuple(
        StationOption(call=f"OF{n}QRA", hz=HZ, expected_s=expected_s)
        for n, expected_s in enumerate((15.0, 50.0, 400.0))
    )
    (advice,) = best_advice(facts(contacts=(checked(),), passed=passed))
    assert (advice.kind, advice.count, advice.stop) == (STOP_THERE, 2, None)
    assert advice.cost_s == 600.0  # at most the time spent tuning


def test_a_mistake_is_compared_with_the_stops_without_it() -> None:
    clean = [judged(stop(times_s=(10.0, 5.0, 0.0, 10.0))) for _ in range(3)]
    over = [
        judged(stop(times_s=(10.0, 25.0, 0.0, 10.0)), mistakes=("called-over-others",))
        for _ in range(3)
    ]
    (advice,) = best_advice(facts(*clean, *over))
    assert (advice.kind, advice.count, advice.seconds) == ("called-over-others", 3, 20.0)
    assert best_advice(facts(*clean, *over[:2])) == ()


CONTACTS = [
    checked(),
    checked(theirs=None),
    checked(logged="OH2QRA 212"),
    checked(theirs=("E87APC", "034")),
    checked(worked=("OH2QRK",)),
]


@given(
    st.lists(
        st.tuples(
            st.sampled_from(CONTACTS),
            st.tuples(*[st.floats(0, 600)] * 4),
            st.booleans(),
            st.booleans(),
            st.integers(1, 9),
            st.one_of(st.none(), st.floats(1, 4000)),
            st.sampled_from([(), ("exchange-while-wrong",), ("repeated-unasked",)]),
        ),
        max_size=15,
    )
)
def test_there_are_at_most_three_the_costliest_first(cases: list[tuple]) -> None:  # type: ignore[type-arg]
    contacts = tuple(case[0] for case in cases)
    stops = [
        judged(
            stop(times_s=times, replied=replied, knew_call=knew, calls=calls),
            contact=index if replied else None,
            mistakes=mistakes,
            expected_s=expected_s,
            better_s=10.0,
        )
        for index, (_, times, replied, knew, calls, expected_s, mistakes) in enumerate(cases)
    ]
    advice = best_advice(facts(*stops, contacts=contacts))
    costs = [entry.cost_s for entry in advice]
    assert len(advice) <= MAX_ADVICE
    assert costs == sorted(costs, reverse=True)
    assert all(cost >= LEAST_COST_S for cost in costs)
    assert {entry.kind for entry in advice} <= set(HUNT_ADVICE)
    assert len({entry.kind for entry in advice}) == len(advice)
    assert all(entry.stop is None or 0 <= entry.stop < len(stops) for entry in advice)


def test_advice_refers_to_phases_of_a_hunt() -> None:
    assert set(ADVISED_PHASES) <= set(HUNT_ADVICE)
    assert set(ADVISED_PHASES.values()) <= set(HUNT_PHASES)
