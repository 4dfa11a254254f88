"""Recorded sessions: which can continue, and which withhold their scores."""

from dataclasses import replace
from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.psychometrics.placement import Placement
from drill.records.sessions import SessionRecord
from drill.records.store import Store
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.recorded import (
    has_fixed_snr,
    kind_label,
    open_kind,
    recorded_kind,
    result_is_withheld,
)
from tests.drill.session.example_kinds import EXAMPLE_KINDS, PLAN
from tests.drill.simulated_trainee import SimulatedTrainee, record_session

SHORT = replace(PLAN, count=3)


def newest(store: Store) -> SessionRecord:
    return store.sessions(1)[0]


@pytest.mark.parametrize("name", EXAMPLE_KINDS)
def test_a_session_is_open_until_its_last_item(name: str, home: Path) -> None:
    kind = EXAMPLE_KINDS[name]
    with Store(record_file()) as store:
        record_session(store, kind, most=2)
        record = newest(store)
        assert open_kind(record, store) == recorded_kind(record) == kind
        assert result_is_withheld(record, store) == (not kind.gives_feedback)
        assert kind_label(record) == name
        assert has_fixed_snr(record) == (name == "practice")
        record_session(store, kind, day=1)
        assert open_kind(newest(store), store) is None
        assert not result_is_withheld(newest(store), store)


def test_a_measurement_that_ended_early_is_not_open(home: Path) -> None:
    kind = Measurement(plan=replace(PLAN, count=400), placement=Placement(seed=3), until_db=2.0)
    with Store(record_file()) as store:
        record_session(store, kind, SimulatedTrainee(slope=1.2))
        record = newest(store)
        assert record.answered < 400
        assert open_kind(record, store) is None
        assert not result_is_withheld(record, store)


def test_a_session_of_a_newer_version_is_listed_and_cannot_continue(home: Path) -> None:
    with Store(record_file()) as store:
        record_session(store, Practice(plan=SHORT), most=1)
        record = replace(newest(store), mode="flying")
        assert open_kind(record, store) is None
        assert not result_is_withheld(record, store)
        assert kind_label(record) == "flying"
        assert not has_fixed_snr(record)
        with pytest.raises(UserError, match="newer faintcall"):
            recorded_kind(record)


def test_a_session_whose_operator_is_gone_cannot_continue(home: Path) -> None:
    with Store(record_file()) as store:
        record_session(store, Practice(plan=SHORT), most=1)
        record = newest(store)
        plan = {**record.plan, "voices": ["gone"]}
        assert open_kind(replace(record, plan=plan), store) is None
