"""/api/history: past sessions, and the answers of one session."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill.core.paths import record_file
from drill.records.store import Store
from drill.web.api.history import answers_json
from tests.web.client import (
    begin_session,
    correct_answer,
    current_item,
    disable_prefetch,
    logged_in_client,
    post_answer,
)
from tests.web.sample_record import fill_record


@pytest.fixture
def client(home: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    disable_prefetch(monkeypatch)
    return logged_in_client()


def test_the_history_lists_sessions_newest_first(client: TestClient) -> None:
    assert client.get("/api/history").json() == {"sessions": []}
    practice = begin_session(client, count=2, seed=5, snr_db=-3)["id"]
    post_answer(client, practice, 0, correct_answer(current_item(practice)))
    measurement = begin_session(client, "measurement", count=20)["id"]
    post_answer(client, measurement, 0, "E8ABC")
    newest, oldest = client.get("/api/history").json()["sessions"]
    assert (newest["id"], oldest["id"]) == (measurement, practice)
    assert (oldest["kind"], oldest["title"], oldest["page"]) == (
        "practice",
        "Practice",
        "/practise",
    )
    assert (oldest["answered"], oldest["right"], oldest["right_at_first_hearing"]) == (1, 1, 1)
    assert (oldest["snr"], newest["snr"]) == ("-3.0 dB", "by answers")
    assert oldest["open"] is True
    assert (newest["kind"], newest["title"], newest["page"]) == (
        "measurement",
        "Measurement",
        "/measure",
    )
    assert (newest["answered"], newest["right"], newest["right_at_first_hearing"]) == (
        1,
        None,
        None,
    )


@pytest.mark.parametrize("limit", ["0", "-1", "x", "1e3", "9" * 30, "\u00b2", "1001"])
def test_a_wrong_limit_is_refused(client: TestClient, limit: str) -> None:
    response = client.get("/api/history", params={"limit": limit})
    assert response.status_code == 400
    assert response.json()["field"] == "limit"


def test_the_limit_keeps_the_newest_sessions(client: TestClient) -> None:
    fill_record()
    every = client.get("/api/history").json()["sessions"]
    assert client.get("/api/history?limit=2").json()["sessions"] == every[:2]


def test_the_answers_of_a_session_are_those_of_the_record(client: TestClient) -> None:
    practice = fill_record()["practice"]
    reply = client.get(f"/api/history/{practice}").json()
    with Store(record_file()) as store:
        attempts = store.attempts(practice)
    assert reply["answers"] == answers_json(attempts)
    assert reply["withheld"] is False
    assert reply["session"]["right"] == sum(answer["right"] for answer in reply["answers"])
    for answer, attempt in zip(reply["answers"], attempts, strict=True):
        assert answer["typed"] == attempt.answer.typed
        assert "".join(pair["sent"] for pair in answer["fields"][0]["pairs"]) == (
            attempt.item.message.fields[0].text
        )


def test_the_answers_of_an_unfinished_measurement_are_withheld(client: TestClient) -> None:
    session = fill_record()["open block"]
    reply = client.get(f"/api/history/{session}").json()
    assert (reply["answers"], reply["withheld"]) == ([], True)
    assert (reply["session"]["answered"], reply["session"]["right"]) == (3, None)


def test_an_unknown_session_is_not_found(client: TestClient) -> None:
    assert client.get("/api/history/none").status_code == 404


def test_a_session_of_a_newer_version_is_listed_by_its_stored_name(client: TestClient) -> None:
    session = begin_session(client)["id"]
    post_answer(client, session, 0, "E8ABC")
    with Store(record_file()) as store, store.transaction(writes=True) as db:
        db.execute("UPDATE sitting SET mode = 'flying'")
    (row,) = client.get("/api/history").json()["sessions"]
    assert (row["kind"], row["title"], row["open"]) == ("flying", "flying", False)
    assert "page" not in row


def test_a_session_can_be_deleted(client: TestClient) -> None:
    session = begin_session(client, count=2, seed=5)["id"]
    post_answer(client, session, 0, "E8ABC")
    assert client.post(f"/api/history/{session}/delete", json={}).json() == {"deleted": session}
    assert client.get("/api/history").json() == {"sessions": []}
    assert client.post(f"/api/history/{session}/delete", json={}).status_code == 404
