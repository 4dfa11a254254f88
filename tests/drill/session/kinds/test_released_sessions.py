"""Sessions in records of version 0.2.0 are read, written and continued.

With the calls and places of that version, the items are the same; see data_of_0_2_0.

sessions_of_0_2_0.json was written by the code of that version: for each kind of session, the data
that the record keeps and the items that a simulated trainee was given. record-0.2.0.sqlite3 is a
record of that version.
"""

import hashlib
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from drill.core.structuring import to_data
from drill.records.store import Store
from drill.session.blocks import measurement_blocks
from drill.session.kinds import kind_from_record, registered_kinds
from drill.session.kinds.first_steps import FirstSteps
from drill.session.recorded import recorded_kind
from drill.session.settings import setting_values
from tests.drill.data_of_0_2_0 import data_of_0_2_0
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items

RELEASED: list[dict[str, Any]] = json.loads(
    Path(__file__).with_name("sessions_of_0_2_0.json").read_text("utf-8")
)
RECORD = Path(__file__).parents[2] / "records" / "data" / "record-0.2.0.sqlite3"


@pytest.mark.parametrize("released", RELEASED, ids=lambda released: released["mode"])
def test_a_recorded_session_is_written_as_it_was_read(released: dict[str, Any]) -> None:
    kind = kind_from_record(released["mode"], released["plan"], released["course"])
    assert kind.stored_name == released["mode"]
    assert json.loads(json.dumps(kind.to_dict())) == released["course"]
    assert json.loads(json.dumps(kind.plan.to_dict())) == released["plan"]


@pytest.mark.parametrize(
    "released",
    [
        pytest.param(r, marks=pytest.mark.slow if r["mode"] in ("training", "comparing") else ())
        for r in RELEASED
    ],
    ids=lambda released: released["mode"],
)
def test_a_recorded_session_presents_the_same_items(released: dict[str, Any]) -> None:
    kind = kind_from_record(released["mode"], released["plan"], released["course"])
    assert kind.count == released["count"]
    with data_of_0_2_0():
        items = [attempt.item for attempt in answer_items(kind, SimulatedTrainee())]
    assert [item.message.call for item in items] == released["calls"]
    assert [item.conditions.snr_db for item in items] == released["levels"]
    text = json.dumps([to_data(item) for item in items], sort_keys=True)
    assert hashlib.sha256(text.encode()).hexdigest() == released["items_sha256"]


def test_every_session_of_a_released_record_is_read(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    shutil.copy(RECORD, path)
    with Store(path) as store:
        sessions = store.sessions()
        for session in sessions:
            kind = recorded_kind(session)
            assert kind.stored_name == session.mode
            assert json.loads(json.dumps(kind.to_dict())) == session.course
            attempts = store.attempts(session.id)
            assert kind.standing(attempts)
            with data_of_0_2_0():
                for number, attempt in enumerate(attempts):
                    assert kind.item(number, attempts) == attempt.item
        assert {session.mode for session in sessions} == {
            kind.stored_name for kind in registered_kinds() if kind is not FirstSteps
        }
        assert setting_values(store)["volume"] == 0.25
        assert measurement_blocks(store) == []  # the only measurement was stopped after 3 items
