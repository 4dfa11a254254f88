"""/api/machine-copies, and how the report and the result show the copies."""

import pytest
from starlette.testclient import TestClient

from drill.core.errors import NoRecogniser
from tests.drill.machine_copies import copy_without_sound
from tests.drill.simulated_trainee import SimulatedTrainee
from tests.web.api.session_client import answer_to_end
from tests.web.client import begin_session


def measure(client: TestClient) -> str:
    state = begin_session(client, "measurement", count=24, seed=3)
    answer_to_end(client, state, SimulatedTrainee(seed=4))
    return str(state["id"])


def test_a_request_copies_for_a_while_and_returns_what_is_left(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy_without_sound(monkeypatch)
    monkeypatch.setattr("drill.web.api.machine_copies.REQUEST_S", 0.0)
    session = measure(client)
    assert client.get("/api/report").json()["machine_is_behind"] is True
    first = client.post("/api/machine-copies", json={}).json()
    assert first == {"copied": 1, "left": 28, "without_voice": 0}
    monkeypatch.setattr("drill.web.api.machine_copies.REQUEST_S", 60.0)
    second = client.post("/api/machine-copies", json={}).json()
    assert second == {"copied": 28, "left": 0, "without_voice": 0}
    report = client.get("/api/report").json()
    assert report["machine_is_behind"] is False
    curve = next(section for section in report["sections"] if section["name"] == "curve-1")
    assert any("was given the same 24 calls" in sentence for sentence in curve["sentences"])
    result = client.get(f"/api/sessions/{session}/result").json()
    assert result["sections"][-1]["title"] == "The same calls, copied by a machine"
    assert "machine, 24 of the same calls: not a human score" in result["picture"]["machine_label"]


def test_an_empty_record_leaves_nothing_to_copy(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy_without_sound(monkeypatch)
    assert client.get("/api/report").json()["machine_is_behind"] is False
    reply = client.post("/api/machine-copies", json={}).json()
    assert reply == {"copied": 0, "left": 0, "without_voice": 0}


def test_a_missing_recogniser_is_reported(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(name: str) -> None:
        raise NoRecogniser("the recogniser 'own' needs onnxruntime")

    monkeypatch.setattr("drill.session.machine.find_recogniser", missing)
    response = client.post("/api/machine-copies", json={})
    assert response.status_code == 503
    assert "needs onnxruntime" in response.json()["error"]
