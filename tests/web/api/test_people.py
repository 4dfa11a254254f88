"""/api/people: who practises, and that their records are apart."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.web.client import begin_session, disable_prefetch, logged_in_client, post_answer


@pytest.fixture
def client(home: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    disable_prefetch(monkeypatch)
    monkeypatch.setenv("FAINTCALL_PERSON", "")
    return logged_in_client()


def test_people_have_records_apart(client: TestClient) -> None:
    assert client.get("/api/people").json() == {"present": "", "names": []}
    assert client.post("/api/people", json={"name": "Anna"}).json()["present"] == "Anna"
    session = begin_session(client, count=2, seed=5)["id"]
    post_answer(client, session, 0, "E8ABC")
    assert len(client.get("/api/history").json()["sessions"]) == 1
    assert client.post("/api/people", json={"name": "Bo"}).json() == {
        "present": "Bo",
        "names": ["Anna"],
    }
    assert client.get("/api/history").json()["sessions"] == []
    assert client.get(f"/api/sessions/{session}").status_code == 404
    assert client.post("/api/people", json={"name": ""}).json()["present"] == ""
    assert client.get("/api/history").json()["sessions"] == []


@pytest.mark.parametrize("name", ["../x", "a/b", ".", None, 5, "x" * 41])
def test_a_name_that_is_not_possible_is_refused(client: TestClient, name: object) -> None:
    assert client.post("/api/people", json={"name": name}).status_code == 400
    assert client.get("/api/people").json()["present"] == ""
