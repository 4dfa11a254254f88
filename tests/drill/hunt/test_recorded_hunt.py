"""A whole hunt of the scripted hunter: its record gives the same log and a consistent debrief."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.hunt.debrief import hunt_result
from drill.hunt.expectation import ExpectedTimes
from drill.hunt.judging import nothing_expected
from drill.hunt.sessions import HuntSession
from drill.hunt.values import find_band_kind
from drill.records.store import Store
from tests.drill.hunt.recorded_hunt import hunt_by_script
from tests.drill.hunt.simple_hunter import make_setup

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


def test_a_replay_gives_the_same_log_and_result(tmp_path: Path) -> None:
    with Store(tmp_path / "record.sqlite3") as store:
        setup = make_setup(minutes=3.0, watts=20.0, seed=11)
        session = HuntSession.begin(setup, store, now=NOW)
        hunt_by_script(session)
        again = HuntSession.load(store, session.identity)
        assert again.live.pad.lines == session.live.pad.lines
        assert again.live.sending == session.live.sending
        result = session.result(nothing_expected)
        assert hunt_result(again.live, nothing_expected) == result
        assert result.logged > 0


@pytest.mark.slow
def test_every_stop_with_a_call_has_an_expected_time(tmp_path: Path) -> None:
    """On a jammed band with 5 W, for which the debrief was made."""
    setup = replace(make_setup(minutes=6.0, watts=5.0), bands=(find_band_kind("jammed"),))
    with Store(tmp_path / "record.sqlite3") as store:
        session = HuntSession.begin(setup, store, now=NOW)
        hunt_by_script(session)
        result = session.result(ExpectedTimes(setup).expected_time)
    called = [entry for entry in result.stops if entry.stop.called_after_s is not None]
    assert len(called) > 3
    for entry in called:
        assert entry.simulated
        if entry.expected_s is not None:
            assert entry.low_s is not None
            assert entry.high_s is not None
            assert 0 < entry.low_s <= entry.expected_s <= entry.high_s
