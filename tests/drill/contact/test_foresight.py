"""Speech that is synthesised ahead equals the next over, word for word."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from drill.contact.acts import CALL, EXCHANGE, LEAVE, Act
from drill.contact.air import OnAir, samples
from drill.contact.foresight import foreseen_speech
from drill.contact.live import LiveContact
from drill.contact.overs import FAR, TRAINEE
from drill.contact.rendered_air import speech_seed
from drill.contact.sessions import ContactSession
from drill.contact.setup import create_setup
from drill.core.paths import record_file
from drill.items.prefetch_worker import SpeechRequest
from drill.records.store import Store
from tests.drill.contact.test_sessions import MODEL, OPTIONS, begin


@pytest.fixture
def session(home: Path) -> Iterator[ContactSession]:
    with Store(record_file()) as store:
        # With this seed, no other station calls at the first place.
        options = replace(OPTIONS, seed=22, voices=("rivet",), path_snr_db=30.0)
        yield begin(create_setup(options, replace(MODEL, voice="rivet")), store)


def request_of(contact: LiveContact, over: OnAir) -> SpeechRequest:
    assert over.participant.operator is not None
    seed = speech_seed(contact.frequency.station.seed, over.speaker, over.number)
    return SpeechRequest(words=over.over.words, operator=over.participant.operator, seed=seed)


def next_over(session: ContactSession, speaker: str) -> OnAir:
    """Let time pass until a speaker begins another over."""
    trace = session.contact.frequency.trace
    count = sum(over.speaker == speaker for over in trace)
    while session.contact.now < samples(120):
        session.advance(session.contact.now + samples(0.25))
        overs = [o for o in session.contact.frequency.trace if o.speaker == speaker]
        if len(overs) > count:
            return overs[-1]
    raise AssertionError("nobody spoke")


def test_the_trainees_overs_and_the_answer_are_foreseen(session: ContactSession) -> None:
    contact = session.contact
    first = next_over(session, FAR)
    session.advance(first.end + samples(0.5))
    foreseen = foreseen_speech(contact)
    session.act(Act(at=contact.now, kind=CALL))
    mine = contact.frequency.trace[-1]
    assert mine.speaker == TRAINEE
    assert request_of(contact, mine) in foreseen
    foreseen = foreseen_speech(contact)
    answer = next_over(session, FAR)
    assert answer.over.kind == "giving"
    assert request_of(contact, answer) in foreseen
    session.advance(answer.end + samples(0.5))
    session.act(Act(at=contact.now, kind=EXCHANGE))
    foreseen = foreseen_speech(contact)
    assert request_of(contact, next_over(session, FAR)) in foreseen


def test_the_general_call_after_silence_is_foreseen(
    session: ContactSession,
) -> None:
    contact = session.contact
    first = next_over(session, FAR)
    session.advance(first.end)
    foreseen = foreseen_speech(contact)
    later = next_over(session, FAR)
    assert later.over.kind == "calling"
    assert request_of(contact, later) in foreseen


def test_nothing_is_foreseen_after_the_end(session: ContactSession) -> None:
    session.act(Act(at=samples(1.5), kind=LEAVE))
    assert foreseen_speech(session.contact) == ()
