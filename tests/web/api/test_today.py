"""/api/today: what the first page offers."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.web.client import begin_session, disable_prefetch, logged_in_client, post_answer


@pytest.fixture
def client(home: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    disable_prefetch(monkeypatch)
    return logged_in_client()


def test_a_newcomer_is_offered_first_steps_that_can_be_begun(client: TestClient) -> None:
    offer = client.get("/api/today").json()
    assert offer["title"] == "your first ten minutes"
    assert offer["when"] in ("Today", "Tonight")
    assert offer["page"] == "/practise"
    begun = client.post("/api/sessions", json={**offer["session"], "mix": "unassigned"}).json()
    assert (begun["kind"], begun["count"]) == ("first-steps", 30)


def test_after_an_answer_the_offer_is_training(client: TestClient) -> None:
    session = begin_session(client, count=2, seed=5)["id"]
    post_answer(client, session, 0, "E8ABC")
    offer = client.get("/api/today").json()
    assert offer["session"] == {"kind": "training", "count": 30}
    assert offer["begin"] == "Begin"


def test_after_easy_items_went_wrong_the_offer_has_no_noise(client: TestClient) -> None:
    session = begin_session(client, count=6, seed=5, snr_db=15)["id"]
    for number in range(6):
        post_answer(client, session, number, "q9abc")
    offer = client.get("/api/today").json()
    assert offer["session"] == {"kind": "practice", "count": 30, "pace": 0.8, "snr_db": None}
    assert "0 of 6 easy items" in offer["why"]
    begun = client.post("/api/sessions", json={**offer["session"], "mix": "unassigned"}).json()
    assert begun["kind"] == "practice"
    assert "no noise" in begun["sentence"]
