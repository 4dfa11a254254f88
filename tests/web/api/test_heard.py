"""/api/sessions/ID/items/NUMBER/heard: how the words of an answered item arrived."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.web.client import (
    begin_session,
    correct_answer,
    current_item,
    disable_prefetch,
    logged_in_client,
    post_answer,
)


@pytest.fixture
def client(home: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    disable_prefetch(monkeypatch)
    return logged_in_client()


def test_the_words_of_an_answered_item_are_reported(client: TestClient) -> None:
    session = begin_session(client, count=2, seed=5, snr_db=-3)["id"]
    sent = current_item(session)
    assert client.get(f"/api/sessions/{session}/items/0/heard").status_code == 404
    post_answer(client, session, 0, correct_answer(sent)[:-1] + "?")
    heard = client.get(f"/api/sessions/{session}/items/0/heard").json()
    assert [word["say"] for word in heard["words"]] == [word.say for word in sent.message.words]
    assert [word["missed"] for word in heard["words"]][-1] is True
    assert heard["words"][-1]["typed"] == "?"
    assert not heard["words"][0]["missed"]
    assert heard["words"][0]["line"].startswith(f"1. {sent.message.words[0].say}, ")
    assert len(heard["voice_db"]) == len(heard["rest_db"])
    assert heard["words"][-1]["end_s"] < len(heard["voice_db"]) * heard["step_s"]


@pytest.mark.parametrize("number", ["1", "99", "-1", "x"])
def test_items_without_an_answer_report_no_words(client: TestClient, number: str) -> None:
    session = begin_session(client, count=2, seed=5)["id"]
    post_answer(client, session, 0, "E8ABC")
    assert client.get(f"/api/sessions/{session}/items/{number}/heard").status_code == 404


def test_a_measurement_reveals_nothing_about_its_items(client: TestClient) -> None:
    session = begin_session(client, "measurement", count=20)["id"]
    post_answer(client, session, 0, "E8ABC")
    assert client.get(f"/api/sessions/{session}/items/0/heard").status_code == 404
    assert client.get("/api/sessions/none/items/0/heard").status_code == 404
