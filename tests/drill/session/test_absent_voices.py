"""A missing engine is said, a measurement still runs, and the plan records who speaks."""

from pathlib import Path

import pytest

from drill import voices
from drill.core.errors import NoVoice
from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.absent_voices import MEASUREMENT_OPERATORS, absent_voices_notice
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.options import SessionOptions
from drill.voices.people.roster import ROSTER


def names_by_engine(engine: str) -> set[str]:
    return {operator.name for operator in ROSTER if operator.engine == engine and not operator.hard}


def break_engines(monkeypatch: pytest.MonkeyPatch, *engines: str) -> None:
    find_engine = voices.find_engine

    def find(name: str) -> voices.SpeechEngine:
        if name in engines:
            raise NoVoice(f"the {name} voice needs the package x: install it with: pip y")
        return find_engine(name)

    monkeypatch.setattr(voices, "find_engine", find)


@pytest.fixture
def store(home: Path) -> Store:
    return Store(record_file())


def test_with_all_engines_nothing_is_said(store: Store) -> None:
    with store:
        for kind in (Practice, Measurement):
            session = kind.create(SessionOptions(seed=1), store)
            assert absent_voices_notice(session.plan.voices) == ""
            assert "cannot speak" not in session.announcement()


def test_a_missing_engine_is_said_and_the_plan_records_who_speaks(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    engines = {operator.engine for operator in ROSTER if not operator.hard}
    if len(engines) < 2:
        pytest.skip("only one engine speaks by default")
    break_engines(monkeypatch, "natural")
    with store:
        session = Practice.create(SessionOptions(seed=1), store)
    assert not set(session.plan.voices) & names_by_engine("natural")
    count = len(names_by_engine("natural"))
    announcement = session.announcement()
    assert f"{count} of {len([o for o in ROSTER if not o.hard])} operators cannot speak" in (
        announcement
    )
    assert "install it with: pip y" in announcement


def test_a_measurement_runs_without_its_own_operators(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    engines = {operator.engine for operator in ROSTER if not operator.hard}
    if len(engines) < 2:
        pytest.skip("only one engine speaks by default")
    break_engines(monkeypatch, "natural")
    with store:
        session = Measurement.create(SessionOptions(seed=1), store)
    assert session.plan.voices
    assert not set(session.plan.voices) & set(MEASUREMENT_OPERATORS)
    assert "cannot speak here" in session.announcement()


def test_chosen_operators_need_no_notice(monkeypatch: pytest.MonkeyPatch) -> None:
    break_engines(monkeypatch, "natural")
    assert absent_voices_notice(("tin",)) == ""
    assert absent_voices_notice(("birch", "maple")) == ""
