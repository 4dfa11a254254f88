"""The far operator's hearing by machine: the recogniser transcribes the rendered sound."""

from dataclasses import replace
from random import Random

import pytest

from drill.contact.air import ArrivedVoice, OnAir, Participant, Reception
from drill.contact.evidence import Evidence
from drill.contact.frequency import Frequency, Trainee
from drill.contact.hearing import HeardOver, characters_of
from drill.contact.live import LOGGED, LiveContact
from drill.contact.machine_ears import (
    MachineEars,
    far_recogniser,
    has_far_recogniser,
    passages,
    tokens_from_words,
)
from drill.contact.overs import TRAINEE, Over
from drill.contact.rendered_air import RenderedAir
from drill.contact.review import heard_text
from drill.contact.stations import FarStation, compose_station
from drill.contact.understanding import understand
from drill.contact.values import load_values
from drill.core.conditions import Conditions
from drill.recogniser import RecognisedWord
from drill.voices.operators import find_operator
from tests.drill.contact.scripted_trainee import OWN, PLAN, ScriptedTrainee, quiet_values

VALUES = load_values()
SERIAL = PLAN.load_exchange()
needs_recogniser = pytest.mark.skipif(
    not has_far_recogniser(), reason="the recogniser of the far end is not installed"
)


def station(seed: int = 0) -> FarStation:
    plan = replace(PLAN, seed=seed, conditions=Conditions())
    return compose_station(plan, quiet_values(), number=0, place=0, path_mean_db=30.0)


def machine_ears(offset_db: float = 0.0) -> MachineEars:
    return MachineEars(far_recogniser(), VALUES.recogniser, offset_db, SERIAL)


def heard(template: str, *, far_db: float = 20.0, part: str = "") -> HeardOver:
    air = RenderedAir(station())
    participant = Participant(
        name=TRAINEE, path_seed=1, far_db=far_db, operator=find_operator("willow")
    )
    words = OWN.say(Random(0), template, part=part)
    over: OnAir = air.key(participant, Over(kind="test", words=words), 0, 0)
    return machine_ears().listen(air.receive("far", [over], 0, over.end, told=[over]))[0]


def voice(number: int, start: int, end: int) -> ArrivedVoice:
    return ArrivedVoice(
        speaker=f"caller {number}", number=0, start=start, end=end, words=(), level_db=number
    )


def test_voices_that_overlap_are_one_passage() -> None:
    voices = (voice(1, 100, 300), voice(2, 250, 400), voice(3, 500, 600))
    reception = Reception(start=150, end=650, voices=voices)
    spans = [(begin, end, [v.speaker[-1] for v in vs]) for begin, end, vs in passages(reception)]
    assert spans == [(0, 250, ["1", "2"]), (350, 450, ["3"])]


def test_words_become_characters() -> None:
    says = ("echo", "double", "five", "twenty", "stroke", "again", "fife")
    words = [
        RecognisedWord(say=say, start_s=k, end_s=k + 0.5, confidence=0.9)
        for k, say in enumerate(says)
    ]
    texts = [token.text for token in tokens_from_words(words)]
    assert texts == ["E", "55", "20", "/", "again", "5"]


@needs_recogniser
def test_a_strong_call_is_copied() -> None:
    over = heard("{call}")
    assert "".join(characters_of(over.tokens, 0.5)) == OWN.call
    assert heard_text(over) == OWN.call


@needs_recogniser
@pytest.mark.parametrize(
    ("template", "request_kind"),
    [
        ("again, again please", "all"),
        ("again please, your number, number again", "exchange"),
        ("again please, your call, call again", "call"),
    ],
)
def test_requests_are_understood(template: str, request_kind: str) -> None:
    understood = understand(
        heard(template),
        held=Evidence().add(tuple(OWN.call)),
        exchange=SERIAL,
        expects_exchange=True,
        doubt_below=0.5,
    )
    assert understood.request == request_kind


@needs_recogniser
def test_a_correction_with_the_exchange_is_understood() -> None:
    understood = understand(
        heard("correction, {call}, thank you, {exchange}"),
        held=Evidence().add(tuple("E87APC")),
        exchange=SERIAL,
        expects_exchange=True,
        doubt_below=0.5,
    )
    assert understood.corrects
    assert ["".join(part) for part in understood.calls] == [OWN.call]
    assert ["".join(part) for part in understood.exchanges] == ["034"]


@needs_recogniser
def test_noise_alone_is_not_a_call() -> None:
    copied = characters_of(heard("{call}", far_db=-25.0).tokens, 0.5)
    assert sum(character != "?" for character in copied) <= 2


@needs_recogniser
def test_a_station_with_deafer_ears_hears_a_weaker_sound() -> None:
    assert machine_ears(2.0).far_shift_db == -2.0


@needs_recogniser
@pytest.mark.slow
def test_contacts_succeed_with_recognised_sound() -> None:
    logged = right = 0
    for seed in range(6):
        here = replace(station(seed), callers=0, is_busy=False)
        ears = machine_ears(here.ear_offset_db)
        own = replace(OWN, operator=find_operator("willow"))
        live = LiveContact(
            Frequency(
                station=here,
                trainee=Trainee(speaker=own, watts=5.0),
                plan=PLAN,
                exchange=SERIAL,
                values=quiet_values(),
                air=RenderedAir(here, far_shift_db=ears.far_shift_db),
                ears=ears,
            )
        )
        ScriptedTrainee(live).run()
        logged += live.ended == LOGGED
        lines = [(line.call, line.exchange) for line in live.frequency.far.operator.log]
        right += (OWN.call, "034") in lines
    assert logged >= 5
    assert right >= 5
