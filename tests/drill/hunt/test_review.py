"""Replaying a hunt: the same sound as during the hunt, and the overs of a contact in words."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from drill.contact.air import samples
from drill.hunt.acts import END, TUNE, HuntAct
from drill.hunt.judging import nothing_expected
from drill.hunt.live import LiveHunt
from drill.hunt.review import (
    contact_stop,
    hunt_contact_overs,
    overs_on_air,
    render_again,
    render_speech,
    replay_contact,
)
from drill.hunt.sessions import HuntSession
from drill.hunt.stream import HuntStream
from drill.records.store import Store
from tests.drill.hunt.simple_hunter import SimpleHunter, make_setup
from tests.drill.hunt.sounding import NoiseSpeech, ten_minutes

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(tmp_path / "record.sqlite3") as opened:
        yield opened


def heard(session: HuntSession, blocks: int) -> NDArray[np.float32]:
    """Return the sound while the dial is turned twice and the trainee calls once."""
    stream, parts = HuntStream(session), []
    hz = session.live.dial_hz
    acts = {3: (TUNE, hz + 1500.0), 5: ("call", None), 115: (TUNE, hz + 1400.0)}
    for number in range(blocks):
        if number in acts:
            stream.act(acts[number][0], hz=acts[number][1])
        stream.step()
        block = stream.pull()
        assert block is not None
        parts.append(block.samples)
    return np.concatenate(parts)


def test_a_replay_has_the_sound_of_the_hunt(store: Store) -> None:
    speech = NoiseSpeech()
    session = HuntSession.begin(ten_minutes(), store, now=NOW, speech=speech)
    sound = heard(session, 150)
    events = store.hunt_events(session.identity)
    end = len(sound)
    whole = render_again(session.setup, events, 0, end, speech)
    assert np.array_equal(whole.samples, sound)
    start = samples(3.6)
    part = render_again(session.setup, events, start, end, speech)
    assert len(part.samples) == end - start
    # The gain control starts from another state, so only the waveform's shape is the same.
    assert np.corrcoef(part.samples, sound[start:])[0, 1] > 0.98


def test_the_overs_of_a_contact_have_their_words(store: Store) -> None:
    speech = NoiseSpeech()
    session = HuntSession.begin(make_setup(), store, now=NOW)
    hunter = SimpleHunter(session.live, session.act, session.advance)
    number = hunter.strongest()[0]
    assert hunter.work(number)
    session.act(HuntAct(at=session.live.now, kind=END))
    result, live = session.result(nothing_expected), session.live
    assert contact_stop(result, 0) == (number, 0, live.now)
    assert contact_stop(result, 5) is None
    overs = hunt_contact_overs(live, result, 0)
    assert overs[0].who == "they"
    assert live.channels[number].holder.call not in overs[0].text  # the call in code words
    mine = [over for over in overs if over.who == "you"]
    assert "echo eight seven" in mine[0].text.lower()
    assert mine[0].heard
    assert [over.start for over in overs] == sorted(over.start for over in overs)
    (first, *_) = overs_on_air(live, result, 0)
    clip = render_speech(live, number, first, speech)
    assert clip is not None
    assert clip.seconds > 1


def test_a_hunt_without_a_contact_has_no_overs(store: Store) -> None:
    live = LiveHunt(make_setup(minutes=1.0))
    live.advance(samples(60))
    session = HuntSession.begin(make_setup(minutes=1.0), store, now=NOW)
    session.advance(samples(60))
    assert hunt_contact_overs(live, session.result(), 0) == ()


def test_a_replay_of_one_station_gives_the_same_overs(store: Store) -> None:
    speech = NoiseSpeech()
    session = HuntSession.begin(make_setup(), store, now=NOW, speech=speech)
    hunter = SimpleHunter(session.live, session.act, session.advance)
    first, second = hunter.strongest()[:2]
    assert hunter.work(first)
    assert hunter.work(second)
    session.act(HuntAct(at=session.live.now, kind=END))
    result = session.result(nothing_expected)
    stop = contact_stop(result, 1)
    assert stop is not None
    near = replay_contact(session.setup, session.events(), stop, speech)
    assert list(near.channels) == [second]
    assert hunt_contact_overs(near, result, 1) == hunt_contact_overs(session.live, result, 1)
