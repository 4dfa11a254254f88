"""Sound at both ends, compared with the link budget."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from drill.contact.air import OnAir, Participant, samples
from drill.contact.overs import FAR, TRAINEE, Over
from drill.contact.rendered_air import LEAD_S, RenderedAir
from drill.contact.stations import FarStation, compose_station
from drill.contact.values import load_values
from drill.core.conditions import Conditions, Fading, Receiver
from drill.core.models import Clip
from drill.linkbudget.budget import Circuit, LinkEnd, link_budget
from drill.radio import AUDIO_RATE_HZ
from drill.radio.filters import noise_bandwidth_hz
from drill.radio.levels import REFERENCE_BANDWIDTH_HZ, decibels, speech_level
from drill.radio.receiver import receiver_passband
from drill.voices.operators import find_operator
from tests.drill.contact.scripted_trainee import OWN, PLAN

STEADY = Fading()


@cache
def station(fading: Fading = STEADY) -> FarStation:
    plan = replace(PLAN, conditions=Conditions(fading=fading))
    return compose_station(plan, load_values(), number=0, place=0, path_mean_db=20.0)


def own_over(
    air: RenderedAir, *, watts: float, start: int = 0, far_db: float | None = None
) -> OnAir:
    participant = Participant(
        name=TRAINEE,
        path_seed=station().path_seed,
        far_db=station().far_db(watts) if far_db is None else far_db,
        operator=find_operator("birch"),
    )
    words = OWN.say(station().stream("test"), "{call}, {call}")
    return air.key(participant, Over(kind="call", words=words), 0, start)


@pytest.mark.parametrize("watts", [100.0, 20.0, 5.0])
def test_the_snr_at_the_far_end_is_that_of_the_link_budget(watts: float) -> None:
    air = RenderedAir(station())
    over = own_over(air, watts=watts)
    circuit = Circuit(
        here=LinkEnd(watts=watts),
        there=LinkEnd(),
        frequency_mhz=14.2,
        path_snr_db=station().path_snr_db,
    )
    budget_db = link_budget(circuit).mine_there.snr_db
    stop = over.end + samples(20.0)
    both = air.render("far", [over], 0, stop, linear=True).samples.astype(np.float64)
    # Receive the same noise without the voice, so that the difference is the voice alone.
    silent = replace(over, end=0)
    noise = air.render("far", [silent], 0, stop, linear=True).samples.astype(np.float64)
    bandwidth_hz = noise_bandwidth_hz(receiver_passband(Receiver()))
    noise_db = decibels(float(np.mean(noise**2)) * REFERENCE_BANDWIDTH_HZ / bandwidth_hz)
    voice_db = speech_level(both - noise, AUDIO_RATE_HZ).active_db
    assert voice_db - noise_db == pytest.approx(budget_db, abs=0.1)


def test_the_path_fades_equally_in_both_directions() -> None:
    fading = Fading(name="mid-moderate", delay_ms=1.0, spread_hz=0.5)
    air = RenderedAir(station(fading))
    mine = own_over(air, watts=5.0, start=samples(20.0))
    theirs = replace(
        mine, participant=replace(mine.participant, name=FAR, far_db=None, near_db=10.0), number=1
    )
    levels = [
        [word.snr_db for word in air.receive(end, [over], 0, over.end, told=[over]).voices[0].words]
        for end, over in (("far", mine), ("near", theirs))
    ]
    far, near = (np.array(values) - np.mean(values) for values in levels)
    assert np.std(far) > 0.5
    assert np.allclose(far, near, atol=0.2)


def test_the_same_reception_gives_the_same_samples() -> None:
    clips = []
    for _ in range(2):
        air = RenderedAir(station())
        over = own_over(air, watts=5.0)
        clips.append(air.render("far", [over], 0, over.end).samples)
    assert np.array_equal(clips[0], clips[1])


def test_an_over_that_is_broken_off_ends_there() -> None:
    air = RenderedAir(station())
    over = own_over(air, watts=100.0, far_db=40.0)
    middle = samples(LEAD_S + 1.0)
    short = over.broken_off(middle)
    words = air.receive("far", [short], 0, over.end, told=[short]).voices[0].words
    assert 0 < len(words) < len(over.times)
    sound = air.render("far", [short], 0, over.end, linear=True).samples
    loud = np.sqrt(np.mean(sound[: middle - samples(0.1)] ** 2))
    assert np.sqrt(np.mean(sound[middle + samples(0.3) :] ** 2)) < loud / 20


def test_words_before_the_receiver_listens_are_lost() -> None:
    air = RenderedAir(station())
    over = own_over(air, watts=5.0)
    third = over.times[3][0]
    words = air.receive("far", [over], third, over.end, told=[over]).voices[0].words
    assert len(words) == len(over.times) - 3


def test_an_over_from_the_microphone_needs_no_words() -> None:
    air = RenderedAir(station())
    tone = 0.3 * np.sin(np.arange(24000) / 5) * (np.arange(24000) % 6000 < 4000)
    clip = Clip(samples=tone.astype(np.float32), rate_hz=16000)
    participant = Participant(name=TRAINEE, path_seed=1, far_db=20.0)
    over = air.key(participant, Over(kind="voice", words=(), clip=clip), 0, 0)
    assert over.end == pytest.approx(samples(1.5), abs=samples(0.5))
    assert np.max(np.abs(air.render("far", [over], 0, over.end).samples)) > 0.05
