"""A session in the record: every act is stored at once, and the contact continues after a kill."""

import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.contact.acts import CALL, EXCHANGE, LEAVE, LOG, NOTE, VOICE, Act
from drill.contact.air import samples
from drill.contact.figures import contact_history
from drill.contact.review import render_contact, render_over, said_overs
from drill.contact.sessions import ContactSession
from drill.contact.setup import (
    LADDER_WATTS,
    OFFERED_CALL,
    ContactOptions,
    ContactSetup,
    create_setup,
)
from drill.core.errors import AlreadyAnswered, UserError
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.options import SessionOptions
from phonetics.callsigns import is_valid_callsign

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)
OPTIONS = SessionOptions(
    count=2, seed=7, mix="unassigned", voices=("birch", "maple"), path_snr_db=25.0
)
MODEL = ContactOptions(ears="model", voice="birch")


@pytest.fixture
def store(home: Path) -> Iterator[Store]:
    with Store(record_file()) as opened:
        yield opened


@pytest.fixture
def setup() -> ContactSetup:
    return create_setup(OPTIONS, MODEL)


def begin(setup: ContactSetup, store: Store) -> ContactSession:
    return ContactSession.begin(setup, store, now=NOW)


def play(session: ContactSession) -> None:
    """Call after the first general call, give the exchange, and log."""
    contact = session.contact
    for kinds, act in ((("calling",), CALL), (("giving",), EXCHANGE), (("ending",), LOG)):
        while not any(
            over.over.kind in kinds and over.end <= contact.now for over in contact.frequency.trace
        ):
            session.advance(contact.now + samples(0.5))
            if contact.now > samples(60):
                session.act(Act(at=contact.now, kind=LEAVE))
                return
        if act == LOG:
            station = contact.frequency.station.speaker
            fields = " ".join(field.text for field in station.fields)
            session.act(Act(at=contact.now, kind=NOTE, text=f"{station.call} {fields}"))
        session.act(Act(at=contact.now + samples(0.4), kind=act))


def story(session: ContactSession) -> list[tuple[int, int, str, str]]:
    return [(o.start, o.end, o.speaker, o.over.text) for o in session.contact.frequency.trace]


def test_a_session_runs_from_beginning_to_end(setup: ContactSetup, store: Store) -> None:
    session = begin(setup, store)
    for number in range(setup.count):
        assert session.number == number
        play(session)
        assert session.contact.ended
        if not session.is_finished:
            session.next_contact()
    assert session.is_finished
    assert len(session.results) == setup.count == 2
    history = contact_history(store)
    assert history is not None
    assert history.total.begun == 2
    assert history.total.right == sum(result.logs.is_right for result in session.results) > 0
    with pytest.raises(UserError, match="finished"):
        ContactSession.resume(store)


@pytest.mark.slow
def test_a_recorded_contact_is_replayed_unchanged(setup: ContactSetup, store: Store) -> None:
    session = begin(setup, store)
    play(session)
    stored = store.contact_sessions(1)[0]
    again = ContactSession.load(store, stored, number=0)
    assert story(again) == story(session)
    assert again.results == session.results
    assert again.contact.ended_at == session.contact.ended_at


def test_a_session_continues_where_it_was_killed(setup: ContactSetup, store: Store) -> None:
    session = begin(setup, store)
    session.advance(samples(6.0))
    session.act(Act(at=session.contact.now, kind=CALL))
    session.act(Act(at=session.contact.now + samples(5.0), kind=NOTE, text="e8?"))
    told = story(session)
    # Close and flush nothing here, as in a process that is killed.
    resumed = ContactSession.resume(store)
    assert story(resumed) == told
    assert resumed.contact.notes == ("e8?",)
    assert resumed.contact.now == session.contact.now
    play(resumed)
    assert resumed.contact.ended


@pytest.mark.slow
def test_a_killed_process_loses_nothing(home: Path) -> None:
    script = (
        "import sys, time\n"
        "from tests.drill.contact.test_sessions import *\n"
        "store = Store(record_file())\n"
        "session = begin(create_setup(OPTIONS, MODEL), store)\n"
        "session.advance(samples(6.0))\n"
        "session.act(Act(at=session.contact.now, kind=CALL))\n"
        "session.act(Act(at=session.contact.now, kind=NOTE, text='e8?'))\n"
        "print('ready', flush=True)\n"
        "time.sleep(60)\n"
    )
    environment = {**os.environ, "FAINTCALL_HOME": str(home)}
    command = [sys.executable, "-c", script]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        process.kill()
    with Store(record_file()) as store:
        resumed = ContactSession.resume(store)
        assert [act.kind for act in resumed.contact.acts] == [CALL, NOTE]


def test_two_windows_cannot_both_continue(setup: ContactSetup, store: Store) -> None:
    session = begin(setup, store)
    session.act(Act(at=samples(2.0), kind=NOTE, text="first"))
    other = ContactSession.resume(store)
    session.act(Act(at=samples(3.0), kind=NOTE, text="second"))
    with pytest.raises(AlreadyAnswered, match="another window"):
        other.act(Act(at=samples(3.0), kind=NOTE, text="third"))
    assert ContactSession.resume(store).contact.notes == ("first", "second")


def test_the_ladder_has_every_place_at_every_power() -> None:
    setup = create_setup(replace(OPTIONS, path_snr_db=None), replace(MODEL, ladder=True))
    slots = [setup.slot(number) for number in range(setup.count)]
    assert len(slots) == 2 * len(LADDER_WATTS)
    assert len(set(slots)) == len(slots)
    assert [slot.watts for slot in slots] != sorted((s.watts for s in slots), reverse=True)
    stations = [setup.station(number) for number in range(setup.count)]
    for place in range(2):
        same = [s for s, slot in zip(stations, slots, strict=True) if slot.place == place]
        assert len({(s.seed, s.path_snr_db, s.noise_above_db, s.callers) for s in same}) == 1
        assert len({s.speaker.call for s in same}) == len(same)


def test_a_ladder_takes_no_power() -> None:
    with pytest.raises(UserError, match="ladder"):
        create_setup(replace(OPTIONS, watts=20.0), replace(MODEL, ladder=True))


@pytest.mark.parametrize(
    ("options", "choice", "field"),
    [
        (replace(OPTIONS, snr_db=3.0), MODEL, "snr_db"),
        (replace(OPTIONS, part="exchange"), MODEL, "part"),
        (replace(OPTIONS, count=0), MODEL, "count"),
        (replace(OPTIONS, path_snr_db=99.0), MODEL, "path_snr_db"),
        (replace(OPTIONS, watts=0.0), MODEL, "watts"),
        (OPTIONS, replace(MODEL, call="E8"), "call"),
        (OPTIONS, replace(MODEL, ears="keen"), "ears"),
    ],
)
def test_wrong_options_are_named(
    options: SessionOptions, choice: ContactOptions, field: str
) -> None:
    with pytest.raises(UserError) as caught:
        create_setup(options, choice)
    assert caught.value.field == field


def test_the_offered_call_cannot_be_assigned(setup: ContactSetup) -> None:
    assert setup.own_call == OFFERED_CALL
    assert not is_valid_callsign(OFFERED_CALL)


def test_the_setup_survives_the_record(setup: ContactSetup, store: Store) -> None:
    session = begin(setup, store)
    session.act(Act(at=samples(1.0), kind=NOTE, text="x"))
    assert ContactSession.resume(store).setup == setup


@pytest.mark.slow
def test_overs_can_be_heard_again(setup: ContactSetup, store: Store) -> None:
    session = begin(setup, store)
    play(session)
    contact = session.contact
    overs = said_overs(contact)
    assert {over.who for over in overs} >= {"they", "you"}
    for index, over in enumerate(overs):
        assert (over.heard is not None) == (over.who == "you")
        for clean in (False, True):
            clip = render_over(contact, index, clean=clean)
            assert 0.5 < clip.seconds < over.seconds + 1.0
            assert abs(clip.samples).max() > 0.01
    assert render_contact(contact).seconds == pytest.approx(contact.ended_at / 16000, abs=0.2)


def test_an_over_from_the_microphone_is_sent_and_not_kept(
    setup: ContactSetup, store: Store
) -> None:
    session = begin(setup, store)
    session.advance(samples(6.0))
    voice = session.contact.frequency.air.render_clean(  # type: ignore[attr-defined]
        session.contact.frequency.trace[0]
    )
    clip = Clip(samples=voice.samples, rate_hz=voice.rate_hz)
    session.act(Act(at=session.contact.now, kind=VOICE), clip)
    session.advance(session.contact.now + samples(8.0))
    resumed = ContactSession.resume(store)
    resumed.advance(session.contact.now)
    assert [(o.start, o.end) for o in resumed.contact.frequency.trace] == [
        (o.start, o.end) for o in session.contact.frequency.trace
    ]
