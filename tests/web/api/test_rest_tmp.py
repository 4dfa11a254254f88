"""Tests of settings, cautions, choices, report and a busy record, to be split by module."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill.cli import main
from drill.core.paths import record_file
from drill.records.store import Store
from drill.session import settings
from tests.drill.typist import Typist
from tests.web.api.session_client import answer_to_end
from tests.web.client import begin_session, disable_prefetch, logged_in_client, post_answer


@pytest.fixture
def client(home: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    disable_prefetch(monkeypatch)
    return logged_in_client()


def test_settings_are_kept_all_or_none(client: TestClient) -> None:
    found = client.post("/api/settings", json={"values": {"volume": 1, "scheme": "dark"}}).json()
    assert (found["values"]["volume"], found["values"]["scheme"]) == (1.0, "dark")
    assert set(found["says"]) == set(found["values"]) == set(settings.known_settings())
    for values, told in (
        ({"volume": 0.1, "scheme": "red"}, "scheme 'red' is unknown"),
        ({"volume": 1.01}, "volume 1.01 is out of range; allowed are 0 to 1"),
        ({"volume": True}, "volume has to be a number"),
        ({"auto_next_s": -1}, "auto_next_s -1 is out of range"),
        ({"speech_side": ["left"]}, "is unknown; choose one of both, left, right"),
        ({"last_practice": 3}, "has to be a table"),
        ({"last_practice": {"mix": "y" * 9000}}, "at most 8000"),
        ({"last_practice": {"call": "E8ABC"}}, "unknown entry 'last_practice.call'"),
        ({"colour": 1}, "unknown entry 'colour'"),
    ):
        reply = client.post("/api/settings", json={"values": values})
        assert reply.status_code == 400
        assert told in reply.json()["error"]
    assert logged_in_client().get("/api/settings").json()["values"] == found["values"]


def test_a_setting_that_cannot_be_read_is_as_by_default(client: TestClient) -> None:
    with Store(record_file()) as store:
        store.set_setting("volume", "{")
        store.set_setting("scheme", '"red"')
    values = client.get("/api/settings").json()["values"]
    assert (values["volume"], values["scheme"]) == (0.5, "system")


def test_the_caution_is_one_for_page_and_terminal(client: TestClient) -> None:
    assert client.get("/api/cautions").json() == {"hearing": False}
    assert client.post("/api/cautions", json={"hearing": False}).json() == {"hearing": False}
    assert client.post("/api/cautions", json={"hearing": True}).json() == {"hearing": True}
    with Store(record_file()) as store:
        assert store.has_seen("hearing")


def test_the_report_follows_the_record(client: TestClient) -> None:
    assert client.get("/api/report").json()["enough"] is False
    state = begin_session(client, "measurement", count=24, seed=3)
    answer_to_end(client, state, Typist(seed=4))
    found = client.get("/api/report").json()
    assert found["enough"] is True
    assert found["sections"][0]["title"].startswith("Measurement blocks")
    assert found["sections"][0]["tables"][0]["rows"]
    assert client.get("/api/report").json() == found
    post_answer(client, begin_session(client)["id"], 0, "E8ABC")
    assert client.get("/api/report").json()["sentence"].startswith("30 answers in 2 sittings")


def test_choices_are_those_of_the_terminal(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    found = client.get("/api/choices").json()
    assert main(["choices"]) == 0
    words = capsys.readouterr().out
    for kind in ("exchanges", "mixes", "conditions", "fading", "receivers"):
        assert found[kind]
        for entry in found[kind]:
            assert entry["name"] in words
            assert entry["says"]
    assert {one["name"] for one in found["voices"]["operators"]} >= {"birch", "rivet"}
    begin_session(
        client, **{k: v for k, v in found["defaults"].items() if k not in ("kind", "path_snr_db")}
    )
    for thing in found["compare"]:
        values = [entry["name"] for entry in thing["values"][:2]]
        compare = {"option": thing["name"], "values": values}
        assert begin_session(client, "comparison", count=1, compare=compare)["kind"] == "comparison"


def test_a_record_that_cannot_be_used_is_told(client: TestClient, home: Path) -> None:
    record_file().parent.mkdir(parents=True, exist_ok=True)
    record_file().write_bytes(b"no record at all, and long enough to be looked at" * 30)
    reply = client.get("/api/history")
    assert reply.status_code == 400
    assert "cannot be used" in reply.json()["error"]


def test_a_record_that_another_program_holds_can_be_read(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from drill.records import database

    state = begin_session(client)
    monkeypatch.setattr(database, "BUSY_TIMEOUT_S", 0.2)
    with Store(record_file()) as store:
        with store.transaction(writes=True):
            assert client.get(f"/api/sessions/{state['id']}").json()["number"] == 0
            reply = post_answer(client, state["id"], 0, "E8ABC")
            assert reply.status_code == 503
            assert "is locked" in reply.json()["error"]
        assert post_answer(client, state["id"], 0, "E8ABC").status_code == 200
