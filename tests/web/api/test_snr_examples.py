"""/api/snr-examples: three strengths, which /api/listen renders."""

import pytest
from starlette.testclient import TestClient


def test_three_strengths_are_offered_and_can_be_heard(client: TestClient) -> None:
    examples = client.get("/api/snr-examples").json()["examples"]
    assert [example["label"] for example in examples] == ["strong", "readable", "at the edge"]
    for example in examples:
        form = {"conditions": "plain", "seed": 7, "mix": "unassigned", "without": []}
        over = {**form, "snr_db": example["snr_db"], "voices": ["rivet"]}
        (sound,) = client.post("/api/listen", json=over).json()["sounds"]
        assert sound["snr_db"] == pytest.approx(example["snr_db"], abs=0.5)
