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


def test_everybody_is_compared_and_removable(client: TestClient) -> None:
    assert client.get("/api/people/comparison").json() == {"table": None, "names": []}
    client.post("/api/people", json={"name": "Anna"})
    session = begin_session(client, count=2, seed=5)["id"]
    post_answer(client, session, 0, "E8ABC")
    compared = client.get("/api/people/comparison").json()
    assert compared["names"] == ["Anna"]
    assert [row[:2] for row in compared["table"]["rows"]] == [["Anna", "1"]]
    removed = client.post("/api/people/delete", json={"name": "Anna"})
    assert removed.json()["names"] == []
    assert client.get("/api/people").json() == {"present": "", "names": []}
    again = client.post("/api/people/delete", json={"name": "Anna"})
    assert (again.status_code, again.json()["field"]) == (400, "person")


def test_results_are_imported_under_a_name(client: TestClient) -> None:
    headers = {"content-type": "application/jsonl"}
    session = begin_session(client, count=2, seed=5)["id"]
    post_answer(client, session, 0, "E8ABC")
    exported = client.get("/api/export/jsonl").content
    query = {"person": "Bo"}
    added = client.post("/api/import", params=query, content=exported, headers=headers)
    assert added.json() == {"read": 1, "added": 1}
    assert client.get("/api/people/comparison").json()["names"] == ["Bo"]
    assert client.get("/api/people").json()["present"] == ""


def test_a_damaged_file_adds_no_person(client: TestClient) -> None:
    headers = {"content-type": "application/jsonl"}
    for name, content in (("Bo", b"{"), ("../x", b"")):
        response = client.post(
            "/api/import", params={"person": name}, content=content, headers=headers
        )
        assert response.status_code == 400
    assert client.get("/api/people/comparison").json()["names"] == []
