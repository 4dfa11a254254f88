"""/api/export and /api/import: the record as a file and back."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill.core.paths import record_file
from tests.web.client import begin_session, disable_prefetch, logged_in_client, post_answer


@pytest.fixture
def client(home: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    disable_prefetch(monkeypatch)
    return logged_in_client()


@pytest.mark.parametrize(
    ("name", "media_type"), [("csv", "text/csv"), ("jsonl", "application/jsonl")]
)
def test_an_exported_record_is_added_on_another_computer(
    client: TestClient, name: str, media_type: str
) -> None:
    session = begin_session(client, count=2, seed=5)["id"]
    post_answer(client, session, 0, "E8ABC")
    exported = client.get(f"/api/export/{name}").content
    headers = {"content-type": media_type}
    again = client.post("/api/import", content=exported, headers=headers)
    assert again.json() == {"read": 1, "added": 0}
    record_file().unlink()
    elsewhere = client.post("/api/import", content=exported, headers=headers)
    assert elsewhere.json() == {"read": 1, "added": 1}
    assert client.get("/api/history").json()["sessions"][0]["id"] == session


def test_an_empty_record_and_an_unknown_format_are_refused(client: TestClient) -> None:
    assert client.get("/api/export/csv").status_code == 400
    assert client.get("/api/export/xlsx").json()["field"] == "format"


@pytest.mark.parametrize("content", [b"", b"{", b"\xff\xfe", b'{"schema": 1}'])
def test_a_damaged_file_adds_nothing(client: TestClient, content: bytes) -> None:
    headers = {"content-type": "application/jsonl"}
    assert client.post("/api/import", content=content, headers=headers).status_code == 400
    assert client.get("/api/history").json() == {"sessions": []}


def test_another_content_type_is_refused(client: TestClient) -> None:
    headers = {"content-type": "text/plain"}
    response = client.post("/api/import", content=b"x", headers=headers)
    assert response.status_code == 400
    assert "text/csv or application/jsonl" in response.json()["error"]
