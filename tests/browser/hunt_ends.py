"""A hunt that has ended, for the tests of its page."""

from dataclasses import replace
from datetime import UTC, datetime

from drill.core.paths import record_file
from drill.hunt.acts import END, TUNE, HuntAct
from drill.hunt.sessions import HuntSession
from drill.hunt.speech import VoiceSpeech
from drill.records.store import Store
from tests.browser.session_steps import confirm_caution
from tests.drill.hunt.simple_hunter import SimpleHunter, make_setup

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


def record_hunt_with_losses() -> str:
    """Record an ended hunt with three contacts, of which one has a wrong call; return its id."""
    setup = make_setup()
    setup = replace(setup, plan=replace(setup.plan, voices=("rivet",)), voice="rivet")
    with Store(record_file()) as store:
        confirm_caution(store)
        session = HuntSession.begin(setup, store, now=NOW, speech=VoiceSpeech())
        hunter = SimpleHunter(session.live, session.act, session.advance)
        for place, number in enumerate(hunter.strongest()[:3]):
            hunter.errs = wrong_call if place == 1 else str
            assert hunter.work(number)
        session.act(HuntAct(at=session.live.now, kind=TUNE, hz=14_190_000.0))
        session.advance(session.live.now + 160_000)
        session.act(HuntAct(at=session.live.now, kind=END))
        session.result()
        return session.identity


def wrong_call(note: str) -> str:
    """Return the note with another call."""
    return "OF1QUN " + note.split(maxsplit=1)[1]
