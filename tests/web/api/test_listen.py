"""/api/listen: one over with and without stages, as audio, figures and pictures."""

import math
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill.items.plan import Plan, compose_item
from drill.items.render import receive_item
from drill.radio.presets import load_preset
from drill.web.api.listen import listen_json, pictures_json
from drill.web.audio_cache import AudioCache
from tests.web.client import FAST_OPTIONS, disable_prefetch, logged_in_client


@pytest.fixture
def client(home: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    disable_prefetch(monkeypatch)
    return logged_in_client()


def test_an_over_is_given_with_and_without_stages() -> None:
    plan = Plan(
        seed=3,
        count=1,
        conditions=load_preset("aurora").conditions,
        mix="unassigned",
        voices=("tin", "wren"),
    )
    sounds = AudioCache()
    response = listen_json(plan, ["fading", "neighbours"], sounds)
    names = ["as chosen", "without fading", "without neighbours"]
    assert [entry["name"] for entry in response["sounds"]] == names
    wavs = [
        sounds.get(entry["url"].removeprefix("/api/sounds/").removesuffix(".wav"))
        for entry in response["sounds"]
    ]
    assert None not in wavs
    # The preset has no neighbours, so removing them changes nothing, and the page can say so.
    assert [entry["same"] for entry in response["sounds"]] == [False, False, True]
    assert wavs[0] == wavs[2] != wavs[1]
    assert "pictures" not in response  # pictures take longer, so the page gets the sound first
    pictures = pictures_json(plan, ["fading", "neighbours"])
    assert [picture["name"] for picture in pictures] == names
    assert "no fading" in pictures[1]["says"]
    (table,) = response["tables"]
    assert [row[0] for row in table["rows"]] == names
    assert {len(row) for row in table["rows"]} == {len(table["head"])}


def test_the_delivered_snr_is_a_number_or_null() -> None:
    plan = Plan(seed=3, count=1, mix="unassigned", voices=("tin",))
    response = listen_json(plan, ["noise"], AudioCache())
    expected_db = receive_item(compose_item(plan, 0)).snr_db
    assert expected_db is not None
    with_noise, without_noise = response["sounds"]
    assert math.isclose(with_noise["snr_db"], expected_db)
    assert without_noise["snr_db"] is None


def test_the_sounds_of_a_request_can_be_fetched(client: TestClient) -> None:
    body = {"conditions": "town-evening", "without": ["noise", "noise"], "seed": 3, **FAST_OPTIONS}
    response = client.post("/api/listen", json=body).json()
    assert [entry["name"] for entry in response["sounds"]] == ["as chosen", "without noise"]
    first, second = (client.get(entry["url"]).content for entry in response["sounds"])
    assert len(first) == len(second)
    assert first != second
    assert "seed 3" in response["sentence"]
    assert client.get("/api/sounds/none.wav").status_code == 404
    pictures = client.post("/api/listen/pictures", json=body).json()["pictures"]
    assert [picture["name"] for picture in pictures] == ["as chosen", "without noise"]
    assert all("<svg" in picture["svg"] for picture in pictures)


@pytest.mark.parametrize("without", [["rain"], "noise", ["noise"] * 8, [1]])
def test_wrong_stages_are_rejected(client: TestClient, without: object) -> None:
    response = client.post("/api/listen", json={**FAST_OPTIONS, "without": without})
    assert response.status_code == 400
