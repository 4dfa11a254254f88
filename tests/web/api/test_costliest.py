"""/api/costliest: what costs most, with sounds."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.practice import Practice
from tests.drill.simulated_trainee import SimulatedTrainee, record_session
from tests.web.client import disable_prefetch, logged_in_client


@pytest.fixture
def client(home: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    disable_prefetch(monkeypatch)
    return logged_in_client()


def test_an_empty_record_gives_no_labels(client: TestClient) -> None:
    assert client.get("/api/costliest").json() == {"labels": []}


def test_each_label_has_sounds_of_an_example(client: TestClient) -> None:
    plan = Plan(seed=3, count=150, mix="unassigned", voices=("birch",), alternates=0.0)
    with Store(record_file()) as store:
        trainee = SimulatedTrainee(x50_db=-2.0, hard={"E": 8.0})
        record_session(store, Practice(plan=plan), trainee)
    first = client.get("/api/costliest").json()["labels"][0]
    assert first["name"] in ("E (echo)", "the word 'echo'")
    assert "dB more than the average" in first["says"]
    example = first["example"]
    word = client.get(example["words"]).json()["words"][example["word"]]
    assert (word["say"], word["missed"]) == ("echo", True)
    assert 0 < word["end_s"] - word["start_s"] < 1.5
    for sound in ("noise", "clean"):
        assert client.get(first["example"][sound]).headers["content-type"] == "audio/wav"
