"""A hunt is recorded act by act, and continues wherever it stopped."""

import os
import signal
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from drill.contact.acts import CALL, LOG, NOTE, VOICE
from drill.contact.air import Reception, samples
from drill.contact.hearing import HeardOver, HeardToken
from drill.core.errors import AlreadyAnswered, UserError
from drill.core.models import Clip
from drill.hunt.acts import END, MEND, TUNE, HuntAct
from drill.hunt.live import LiveHunt
from drill.hunt.sessions import (
    HUNT_ACT,
    HUNT_HEARD,
    HUNT_TIME,
    TIME_EVERY,
    HuntSession,
    replay_hunt,
)
from drill.records.store import Store
from tests.drill.hunt.simple_hunter import SimpleHunter, make_setup

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


def hunter(session: HuntSession) -> SimpleHunter:
    return SimpleHunter(session.live, session.act, session.advance)


def story(live: LiveHunt) -> list[object]:
    """Return the parts of a hunt that have to be equal after a replay."""
    overs = [
        (number, over.start, over.end, over.speaker, over.over.text)
        for number, channel in live.channels.items()
        if channel.was_called
        for over in channel.trace
    ]
    return [live.now, live.dial_moves, live.sending, live.pad.lines, live.pad.notes, overs]


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "record.sqlite3")


def test_a_hunt_continues_after_the_program_was_closed(store: Store) -> None:
    session = HuntSession.begin(make_setup(), store, now=NOW)
    first, second = hunter(session).strongest()[:2]
    assert hunter(session).work(first)
    before = story(session.live)
    again = HuntSession.resume(store)
    again.live.channels[first].catch_up(session.live.channels[first].frequency.now)
    assert story(again.live) == before
    assert hunter(again).work(second)
    again.act(HuntAct(at=again.live.now, kind=END))
    result = again.result()
    assert (result.right, result.logged) == (2, 2)
    assert HuntSession.load(store, again.identity).result() == result
    with pytest.raises(UserError, match="has ended"):
        HuntSession.resume(store)


def test_a_replay_gives_the_same_result(store: Store) -> None:
    session = HuntSession.begin(make_setup(seed=3), store, now=NOW)
    for number in hunter(session).strongest()[:3]:
        hunter(session).work(number)
    session.act(HuntAct(at=session.live.now, kind=MEND, line=1, text="OF1QUN"))
    session.act(HuntAct(at=session.live.now, kind=END))
    again = HuntSession.load(store, session.identity)
    assert story(again.live) == story(session.live)
    assert again.result() == session.result()
    assert again.result().contacts[0].verdict == "wrong-call"


def test_the_time_is_recorded_without_an_act(store: Store) -> None:
    session = HuntSession.begin(make_setup(), store, now=NOW)
    for _ in range(40):
        session.advance(session.live.now + samples(0.5))
    kinds = [event.kind for event in store.hunt_events(session.identity)]
    assert kinds == [HUNT_TIME] * (samples(20.0) // TIME_EVERY)
    assert HuntSession.load(store, session.identity).live.now == samples(20.0)


def test_a_hunt_whose_time_is_over_stays_ended(store: Store) -> None:
    session = HuntSession.begin(make_setup(minutes=0.2), store, now=NOW)
    session.advance(samples(11))
    session.advance(samples(60))
    assert session.live.ended
    again = HuntSession.load(store, session.identity)
    assert again.live.ended
    assert again.live.now == session.live.now == samples(12)
    assert again.result() == session.result()


def test_a_second_window_takes_over(store: Store) -> None:
    first = HuntSession.begin(make_setup(), store, now=NOW)
    second = HuntSession.load(store, first.identity)
    second.act(HuntAct(at=samples(1), kind=NOTE, text="OF1QUN"))
    assert not first.follow(store)
    with pytest.raises(AlreadyAnswered):
        first.act(HuntAct(at=samples(1), kind=CALL))
    assert first.live.pad.notes == []
    assert not first.live.sending
    assert second.follow(store)


def test_acts_after_the_end_are_neither_performed_nor_recorded(store: Store) -> None:
    session = HuntSession.begin(make_setup(), store, now=NOW)
    session.act(HuntAct(at=0, kind=END))
    written = store.count_hunt_events(session.identity)
    session.act(HuntAct(at=samples(1), kind=LOG))
    session.advance(samples(60))
    assert store.count_hunt_events(session.identity) == written
    assert session.live.now == 0


def test_continuing_without_a_session_is_an_error(store: Store) -> None:
    with pytest.raises(UserError, match="no hunt to continue"):
        HuntSession.resume(store)
    with pytest.raises(UserError, match="no hunt"):
        HuntSession.load(store, "0" * 32)
    session = HuntSession.begin(make_setup(), store, now=NOW)
    with pytest.raises(ValueError, match="not ended"):
        session.result()


class CountingEars:
    """Ears for sound that always hear the trainee's call, and count how often they listen."""

    name, doubt_below = "counting", 0.5
    count = 0

    def notices(self, level_db: float, draw: float) -> bool:
        return True

    def listen(self, reception: Reception) -> tuple[HeardOver, ...]:
        CountingEars.count += 1
        times = [(0.4 * place, 0.4 * place + 0.3) for place in range(6)]
        tokens = tuple(
            HeardToken(text=character, confidence=0.9, start_s=start, end_s=end)
            for character, (start, end) in zip("E87ABC", times, strict=True)
        )
        return (HeardOver(tokens=tokens, level_db=10.0),)


def test_results_of_the_recogniser_are_recorded(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drill.hunt.sessions.has_far_recogniser", lambda: True)
    monkeypatch.setattr("drill.hunt.sessions.far_machine_ears", lambda *_: CountingEars())
    session = HuntSession.begin(make_setup(), store, now=NOW)
    hunt = hunter(session)
    number = hunt.strongest()[0]
    channel = session.live.channels[number]
    clip = Clip(samples=np.full(samples(2.5), 0.1, np.float32), rate_hz=16000)
    hunt.do(TUNE, hz=channel.holder.carrier_hz)
    session.advance(samples(20))
    for _ in range(3):
        session.act(HuntAct(at=session.live.now, kind=VOICE, text="echo eight seven"), clip)
        session.advance(session.live.now + samples(12))
        channel.catch_up(session.live.story_now)
    count = CountingEars.count
    assert count > 0
    heard = [e for e in store.hunt_events(session.identity) if e.kind == HUNT_HEARD]
    assert len(heard) == count
    again = HuntSession.load(store, session.identity)
    again.live.channels[number].catch_up(channel.frequency.now)
    assert story(again.live) == story(session.live)
    assert CountingEars.count == count


KILLED = """
import os, signal, sys
from datetime import UTC, datetime
from pathlib import Path
from drill.hunt.sessions import HuntSession
from drill.records.store import Store
from tests.drill.hunt.simple_hunter import SimpleHunter, make_setup

count = 0
session = HuntSession.begin(make_setup(), Store(Path(sys.argv[1])), now=datetime.now(UTC))

def act(act):
    global count
    count += 1
    if count == int(sys.argv[2]):
        os.kill(os.getpid(), signal.SIGKILL)
    return session.act(act)

hunter = SimpleHunter(session.live, act, session.advance)
for number in hunter.strongest():
    hunter.work(number)
"""


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL")
@pytest.mark.parametrize("acts", [2, 5])
def test_a_killed_hunt_keeps_every_act(tmp_path: Path, acts: int) -> None:
    path = tmp_path / "record.sqlite3"
    run = subprocess.run([sys.executable, "-c", KILLED, str(path), str(acts)], check=False)
    assert run.returncode == -signal.SIGKILL
    with Store(path) as store:
        stored = next(store.hunts())
        kept = [event for event in store.hunt_events(stored.id) if event.kind == HUNT_ACT]
        assert len(kept) == acts - 1
        assert kept[0].data["kind"] == TUNE
        session = HuntSession.resume(store)
        plain = LiveHunt(make_setup())
        replay_hunt(plain, store.hunt_events(stored.id))
        assert story(session.live) == story(plain)
        number = next(
            n for n in hunter(session).strongest() if not session.live.channels[n].was_called
        )
        assert hunter(session).work(number)
