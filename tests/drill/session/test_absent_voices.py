"""A missing engine is announced, a measurement still runs, and the plan records who speaks."""

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


def test_with_all_engines_there_is_no_notice(store: Store) -> None:
    with store:
        for kind in (Practice, Measurement):
            session = kind.create(SessionOptions(seed=1), store)
            assert absent_voices_notice(session.plan.voices) == ""
            assert "cannot speak" not in session.announcement()


def test_formant_operators_speak_if_the_natural_ones_cannot(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    break_engines(monkeypatch, "natural")
    with store:
        session = Practice.create(SessionOptions(seed=1), store)
    assert set(session.plan.voices) == names_by_engine("formant")
    announcement = session.announcement()
    count = len(names_by_engine("natural"))
    assert f"The {count} natural operators cannot speak here: the natural voice" in announcement
    assert "install it with: pip y" in announcement
    assert "Formant operators, which are harder to understand, speak" in announcement


def test_formant_operators_that_were_asked_for_need_no_notice(store: Store) -> None:
    with store:
        session = Practice.create(SessionOptions(seed=1, voices=("formant",)), store)
    assert "cannot speak" not in session.announcement()


def test_a_measurement_runs_without_its_own_operators(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
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
