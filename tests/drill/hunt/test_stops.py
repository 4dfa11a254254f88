"""The time of a hunt: every second belongs to exactly one phase."""

from collections.abc import Sequence
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.contact.air import OnAir, samples
from drill.contact.debrief import PHASES
from drill.contact.live import LOGGED, LiveContact
from drill.contact.overs import FAR, TRAINEE
from drill.hunt.stops import (
    HUNT_PHASES,
    LONGEST_WAIT_S,
    RestTime,
    rest_times,
    stop_at,
    times_of_hunt,
)
from tests.drill.contact.scripted_trainee import OWN, ScriptedTrainee, make_frequency

HZ = 14_200_000.0
SPACING_HZ = 3000.0


def holder_at(hz: float, at: int) -> int | None:
    """Return one of ten stations, 3 kHz apart, within 500 Hz of the dial."""
    number = round((hz - HZ) / SPACING_HZ)
    near = abs(hz - HZ - number * SPACING_HZ) <= 500
    return number if near and 0 <= number < 10 else None


def dial(*moves: tuple[float, float]) -> list[tuple[int, float]]:
    """Return moves of the dial, from seconds and kHz above the first station."""
    return [(samples(at_s), HZ + 1000 * khz) for at_s, khz in moves]


def rests(
    *moves: tuple[float, float], sent: tuple[tuple[float, float], ...] = ()
) -> list[tuple[int, float, float]]:
    sending = [(samples(start), samples(end)) for start, end in sent]
    found = rest_times(dial(*moves), holder_at, sending, end=samples(100))
    return [(rest.holder, rest.start / 16000, rest.end / 16000) for rest in found]


def test_tuning_past_a_station_is_not_a_stop() -> None:
    assert rests((0, 1.5), (10, 3), (12, 4.5), (14, 6)) == [(2, 14, 100)]


def test_fine_tuning_does_not_end_a_stop() -> None:
    assert rests((0, 2.8), (3, 2.9), (3.2, 3.0), (30, 1.5)) == [(1, 0, 30)]


def test_a_short_stop_counts_if_the_trainee_called() -> None:
    assert rests((0, 3), (2, 1.5)) == []
    assert rests((0, 3), (2, 1.5), sent=((1, 3),)) == [(1, 0, 2)]


def test_nothing_after_the_end_counts() -> None:
    assert rests((0, 1.5), (99, 3), (200, 6)) == []


@cache
def contact(seed: int) -> LiveContact:
    live = LiveContact(make_frequency(seed, watts=100.0, path_snr_db=15.0))
    ScriptedTrainee(live).run()
    return live


@pytest.mark.parametrize("seed", range(6))
def test_a_stop_with_a_contact_has_its_phases(seed: int) -> None:
    live = contact(seed)
    trace = live.frequency.trace
    stop = stop_at(RestTime(holder=0, start=0, end=live.ended_at, hz=HZ), trace, OWN.call)
    assert stop.seconds == pytest.approx(sum(stop.times_s), abs=0.05)
    assert stop.replied == (live.ended == LOGGED)
    assert stop.calls >= 1
    assert stop.knew_call  # the scripted trainee waits for the general call
    assert stop.called_after_s is not None
    assert stop.called_after_s > 0
    mine = sum(over.speaker == TRAINEE and over.start < live.ended_at for over in trace)
    assert stop.overs + stop.calls >= mine


def test_a_station_that_was_joined_late_has_not_said_its_call() -> None:
    trace = contact(0).frequency.trace
    call = next(over for over in trace if over.speaker == TRAINEE)
    opening = next(over for over in trace if over.speaker == FAR)
    late = RestTime(holder=0, start=opening.end - samples(0.2), end=call.end, hz=HZ)
    assert stop_at(late, trace, OWN.call).knew_call is False
    silent = RestTime(holder=0, start=0, end=opening.end, hz=HZ)
    assert stop_at(silent, trace, OWN.call).knew_call is None


@given(st.lists(st.tuples(st.floats(0, 5), st.floats(-2, 30)), max_size=30), st.floats(1, 200))
def test_every_second_belongs_to_one_phase(
    moves: list[tuple[float, float]], seconds: float
) -> None:
    at_s, path = 0.0, [(0.0, 0.0)]
    for wait_s, khz in moves:
        at_s += wait_s
        path.append((at_s, khz))
    end = samples(seconds)
    stops = [
        stop_at(rest, [], "E87ABC") for rest in rest_times(dial(*path), holder_at, [], end=end)
    ]
    times = times_of_hunt(stops, seconds=end / 16000)
    assert len(times) == len(HUNT_PHASES) == len(PHASES) + 1
    assert sum(times) == pytest.approx(seconds, abs=0.1 * len(stops) + 0.3)
    assert all(time >= 0 for time in times)
    for before, after in pairwise(stops):
        assert before.at_s + before.seconds <= after.at_s + 0.02


def test_a_wait_that_is_too_long() -> None:
    def too_long_s(seconds: float, trace: Sequence[OnAir] = ()) -> float:
        rest = RestTime(holder=0, start=0, end=samples(seconds), hz=HZ)
        return stop_at(rest, trace, OWN.call).too_long_s

    assert too_long_s(LONGEST_WAIT_S) == 0
    assert too_long_s(LONGEST_WAIT_S + 25) == 25
    assert too_long_s(LONGEST_WAIT_S + 25, contact(0).frequency.trace) == 0
