"""Error responses: one line, a fitting status, and the field if the error names one."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill import voices
from drill.core.errors import NoVoice
from drill.core.paths import record_file
from drill.records import database
from drill.records.store import Store
from drill.web import routes
from tests.web.client import begin_session, logged_in_client, post_answer


def test_unknown_addresses_and_methods_are_answered_in_one_line(client: TestClient) -> None:
    response = client.get("/nothing")
    assert (response.status_code, response.json()) == (404, {"error": "not found"})
    response = client.get("/api/budget")
    assert response.status_code == 405
    assert "does not accept that method" in response.json()["error"]


def test_user_error_names_its_field(client: TestClient) -> None:
    response = client.post("/api/sessions", json={"kind": "practice", "snr_db": "loud"})
    assert (response.status_code, response.json()["field"]) == (400, "snr_db")


def test_missing_voice_is_answered_with_503(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise NoVoice("no voice here: install one")

    state = begin_session(client)
    monkeypatch.setattr(voices, "speak", fail)
    response = client.get(f"/api/sessions/{state['id']}/items/0")
    assert (response.status_code, response.json()) == (503, {"error": "no voice here: install one"})


def test_file_that_is_not_a_record_is_answered_with_400(client: TestClient) -> None:
    record_file().parent.mkdir(parents=True, exist_ok=True)
    record_file().write_bytes(b"not a record, and longer than a database header" * 30)
    response = client.get("/api/history")
    assert response.status_code == 400
    assert "cannot be used" in response.json()["error"]


def test_locked_record_can_be_read_and_is_answered_with_503_when_written(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    state = begin_session(client)
    monkeypatch.setattr(database, "BUSY_TIMEOUT_S", 0.2)
    with Store(record_file()) as store:
        with store.transaction(writes=True):
            assert client.get(f"/api/sessions/{state['id']}").json()["number"] == 0
            response = post_answer(client, state["id"], 0, "E8ABC")
            assert response.status_code == 503
            assert "has locked the record" in response.json()["error"]
        assert post_answer(client, state["id"], 0, "E8ABC").status_code == 200


def test_internal_error_is_reported_without_typed_text(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError("E8ABC")

    monkeypatch.setattr(routes, "settings_json", fail)
    response = logged_in_client(raise_errors=False).get("/api/settings")
    assert response.status_code == 500
    message = response.json()["error"]
    assert message.startswith("internal error: ZeroDivisionError in test_app.py:")
    assert "E8ABC" not in message
    assert "default-src 'none'" in response.headers["content-security-policy"]
    assert capsys.readouterr().err.startswith("faintcall: internal error: ZeroDivisionError in")


def test_missing_package_is_answered_with_503_and_its_remedy(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise ModuleNotFoundError("No module named 'pystoi'", name="pystoi")

    monkeypatch.setattr(routes, "settings_json", fail)
    response = client.get("/api/settings")
    assert response.status_code == 503
    assert "the Python package pystoi is missing; install it with: " in response.json()["error"]


def test_missing_module_of_faintcall_is_an_internal_error(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise ModuleNotFoundError("No module named 'drill.x'", name="drill.x")

    monkeypatch.setattr(routes, "settings_json", fail)
    response = logged_in_client(raise_errors=False).get("/api/settings")
    assert response.status_code == 500
    assert response.json()["error"].startswith("internal error: ModuleNotFoundError")
