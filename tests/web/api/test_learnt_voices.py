"""/api/learnt-voices: learning from all banks of a speaker, using, forgetting."""

import time
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from drill.recogniser.own.adaptation import Adaptation
from drill.recogniser.own.enrolment import Enrolment, Recordings
from drill.recogniser.own.model import load_model
from drill.voices.wordbank.storage import Consent, create_bank, save_word
from drill.web.api.learnt_voices import banks_of_speaker

WAIT_S = 60


@pytest.fixture
def banks(client: TestClient) -> None:
    """Store two banks of one speaker and one of another, with one word each."""
    for name, speaker in (("ada", "Ada"), ("ada-2", "Ada"), ("bo", "Bo")):
        bank = create_bank(name, Consent(speaker=speaker, at="2026-01-01T00:00:00+00:00"))
        samples = np.random.default_rng(1).normal(0, 0.1, 12_000).astype(np.float32)
        save_word(bank, "alfa", samples, 0.5)


def let_learning_return(monkeypatch: pytest.MonkeyPatch, before: int, after: int) -> list[int]:
    """Replace learning by a fixed result; return the number of banks of each call."""
    calls: list[int] = []
    digest = load_model().digest

    def enrol(takes: list[Recordings], *_: object) -> Enrolment:
        calls.append(len(takes))
        adaptation = Adaptation(
            weights=np.zeros((2, 3), np.float32),
            bias=np.zeros(3, np.float32),
            model_digest=digest,
        )
        return Enrolment(adaptation=adaptation, words=37, before=before, after=after)

    monkeypatch.setattr("drill.sending.enrol_banks.enrol_voice", enrol)
    return calls


def state_at_the_end(client: TestClient) -> dict[str, Any]:
    for _ in range(20 * WAIT_S):
        state: dict[str, Any] = client.get("/api/learnt-voices").json()
        if not state["progress"]["running"]:
            return state
        time.sleep(0.05)
    raise AssertionError("learning did not end")


@pytest.mark.usefixtures("banks")
def test_a_voice_is_learnt_used_and_forgotten(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls = let_learning_return(monkeypatch, before=25, after=34)
    assert client.post("/api/learnt-voices", json={"name": "ada"}).status_code == 200
    state = state_at_the_end(client)
    assert calls == [2]  # both banks of the speaker
    assert (state["names"], state["used"]) == (["ada"], "ada")
    assert "25 were copied without noise before, and 34 after" in state["says"][0]
    assert client.post("/api/learnt-voices/use", json={"name": "none"}).json()["used"] == "none"
    assert client.post("/api/learnt-voices/use", json={"name": "bo"}).status_code == 400
    assert client.post("/api/learnt-voices/forget", json={"name": "ada"}).json()["names"] == []
    assert client.post("/api/learnt-voices/forget", json={"name": "ada"}).status_code == 400


@pytest.mark.usefixtures("banks")
def test_a_voice_that_gains_nothing_is_not_kept(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    let_learning_return(monkeypatch, before=30, after=29)
    client.post("/api/learnt-voices", json={"name": "bo"})
    state = state_at_the_end(client)
    assert (state["names"], state["used"]) == ([], "none")
    assert "not kept" in state["says"][-1]


@pytest.mark.usefixtures("banks")
def test_too_few_words_are_the_problem_of_the_work(client: TestClient) -> None:
    client.post("/api/learnt-voices", json={"name": "ada"})
    assert "record at least" in state_at_the_end(client)["progress"]["problem"]


@pytest.mark.usefixtures("banks")
def test_an_unknown_bank_is_not_found(client: TestClient) -> None:
    assert client.post("/api/learnt-voices", json={"name": "x"}).status_code == 404
    assert banks_of_speaker("ada-2") == ("ada-2", "ada")
