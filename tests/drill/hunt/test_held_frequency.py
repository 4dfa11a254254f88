"""A station that is simulated only when needed behaves as if it were simulated all the time."""

from dataclasses import replace
from functools import cache
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.contact.acts import CALL, compose_saying
from drill.contact.air import OnAir, samples
from drill.contact.far_states import State
from drill.contact.notes import LogEntry
from drill.contact.overs import FAR, TRAINEE
from drill.hunt.band import Band, Holder, compose_band
from drill.hunt.clock import AHEAD
from drill.hunt.held_frequency import LEAST_KEPT, HeldFrequency
from drill.hunt.values import find_band_kind
from drill.radio import AUDIO_RATE_HZ
from tests.drill.hunt.simple_hunter import make_setup
from tests.drill.hunt.sounding import NoiseSpeech

SETUP = replace(make_setup(minutes=60.0), bands=(find_band_kind("jammed"),))
END = samples(600.0)


@cache
def band() -> Band:
    return compose_band(SETUP, 0)


def busy_holder() -> Holder:
    """Return a station with about a hundred new callers an hour."""
    present = [h for h in band().holders if h.starts_s < 0 and h.stops_s > 1200]
    return min(present, key=lambda h: abs(h.callers_per_hour - 100))


def held(
    holder: Holder, *, watts: float = 5.0, reach: bool = False, on_dial: bool = True
) -> HeldFrequency:
    """Return the station. reach: its overs have sound. on_dial: its overs are kept."""
    return HeldFrequency(
        holder,
        replace(SETUP, watts=watts),
        speech=NoiseSpeech() if reach else None,
        could_reach=lambda holder, ear: reach and 20 < ear / AUDIO_RATE_HZ < 60,
        was_on_dial=lambda holder, over: on_dial,
    )


def story(frequency: HeldFrequency) -> list[tuple[str, int, int, str]]:
    return [(o.speaker, o.start, o.end, o.over.text) for o in frequency.trace]


def call_at(frequency: HeldFrequency, at: int) -> OnAir:
    """Let the trainee call at a time."""
    frequency.catch_up(at)
    own = SETUP.own_speaker(0)
    return frequency.send(compose_saying(CALL, own, None, LogEntry()), own, 0.0)


@settings(max_examples=5)
@given(st.lists(st.integers(0, samples(150.0)), max_size=20), st.booleans())
def test_a_station_behaves_the_same_however_often_it_is_caught_up(
    times: list[int], reach: bool
) -> None:
    at_once, step_by_step = held(busy_holder(), reach=reach), held(busy_holder(), reach=reach)
    for time in sorted(times):
        step_by_step.catch_up(time)
    for frequency in (at_once, step_by_step):
        frequency.catch_up(samples(200.0))
    assert story(at_once) == story(step_by_step)


def test_a_called_station_behaves_the_same_however_often_it_is_caught_up() -> None:
    lazy, always = held(busy_holder()), held(busy_holder())
    for second in range(200):
        always.catch_up(samples(second))
    for frequency in (lazy, always):
        call_at(frequency, samples(200.0))
        frequency.catch_up(END)
    assert story(lazy) == story(always)
    assert any(speaker == TRAINEE for speaker, *_ in story(lazy))


def test_a_station_that_is_not_called_behaves_the_same_at_any_power() -> None:
    strong, weak = held(busy_holder(), watts=100.0), held(busy_holder(), watts=5.0)
    for frequency in (strong, weak):
        frequency.catch_up(END)
    assert story(strong) == story(weak)


def test_before_the_call_a_station_does_not_depend_on_it() -> None:
    called, left_alone = held(busy_holder()), held(busy_holder())
    call_at(called, samples(300.0))
    for frequency in (called, left_alone):
        frequency.catch_up(END)
    before = [entry for entry in story(called) if entry[1] < samples(300.0)]
    assert before == [entry for entry in story(left_alone) if entry[1] < samples(300.0)]
    assert len(before) > 20


def test_overs_in_reach_last_as_long_as_their_speech() -> None:
    frequency = held(busy_holder(), reach=True)
    frequency.catch_up(samples(120.0))
    for over in frequency.trace:
        if over.speaker != FAR:
            continue
        spoken = frequency.speech(over)
        assert spoken is not None
        clip, first = spoken
        is_in_reach = samples(20.0) + AHEAD < over.start < samples(60.0) + AHEAD
        assert (first == over.start + samples(0.25)) == is_in_reach
        assert over.end == first + samples(clip.seconds) + samples(0.15)


def test_the_serial_number_rises_with_every_contact() -> None:
    frequency = held(busy_holder())
    frequency.catch_up(END)
    assert len(frequency.far_log) > 5
    numbers = [int(frequency.speaker_for(line).fields[-1].text) for line in frequency.far_log]
    assert numbers == list(range(numbers[0], numbers[0] + len(numbers)))
    said = [
        int("".join(w.means for w in o.over.words if w.field == "serial"))
        for o in frequency.trace
        if o.speaker == FAR and o.over.kind == State.GIVING.value
    ]
    assert sorted(said) == said
    assert set(numbers[:-1]) <= set(said)


def test_the_rate_of_callers_is_that_of_the_station() -> None:
    """Poisson: within three standard deviations of the mean."""
    expected = heard = 0.0
    for holder in [h for h in band().holders if h.starts_s < 0 and h.stops_s > 3700][:12]:
        frequency = held(holder)
        expected += holder.callers_per_hour
        heard += sum(delay_s > 0 for delay_s, _ in frequency.caller_arrivals())
    assert heard == pytest.approx(expected, abs=3 * expected**0.5 + 0.03 * expected)


def test_overs_out_of_hearing_are_forgotten() -> None:
    kept, dropped = held(busy_holder()), held(busy_holder(), on_dial=False)
    for frequency in (kept, dropped):
        for second in range(0, 1200, 10):
            frequency.catch_up(samples(second))
    assert kept.trace[0].start < 0
    assert len(dropped.trace) < 3 * LEAST_KEPT
    assert story(dropped) == story(kept)[-len(dropped.trace) :]


def test_a_frequency_is_forgotten_after_its_station_has_left() -> None:
    holder = replace(busy_holder(), stops_s=100.0)
    frequency = held(holder, on_dial=False)
    frequency.catch_up(samples(150.0))
    assert frequency.trace
    frequency.catch_up(samples(900.0))
    assert not frequency.trace
    assert not frequency.is_on_at(samples(901.0))
    kept = held(holder)
    kept.catch_up(samples(900.0))
    assert len(kept.trace) > 10


def test_a_station_leaves_after_its_time() -> None:
    holder = replace(busy_holder(), stops_s=100.0)
    frequency = held(holder)
    assert frequency.is_on_at(samples(99.0))
    assert not frequency.is_on_at(samples(400.0))
    assert not held(replace(holder, starts_s=50.0)).is_on_at(samples(49.0))
    last = max(o.start for o in frequency.trace if o.speaker == FAR)
    assert samples(90.0) < last < samples(200.0)


def test_callers_are_mistuned_and_the_station_is_not() -> None:
    frequency = held(busy_holder())
    frequency.catch_up(END)
    speakers = {o.speaker: o.participant for o in frequency.trace}
    carriers = {name: frequency.carrier_hz(who) for name, who in speakers.items()}
    assert carriers[FAR] == busy_holder().carrier_hz
    others = [abs(hz - carriers[FAR]) for name, hz in carriers.items() if name != FAR]
    assert 0 < max(others) < 200


def test_levels_are_functions_of_time() -> None:
    frequency, holder = held(busy_holder()), busy_holder()
    frequency.catch_up(samples(60.0))
    for over in frequency.trace:
        level = frequency.level_db(over.participant)
        times = [0.0, 100.0, Random(1).random() * 1000]
        if over.speaker == FAR:
            assert level is not None
            assert list(level(np.array(times))) == pytest.approx([holder.near_db(t) for t in times])
        elif level is not None:
            assert set(level(np.array(times))) == {over.participant.near_db}
