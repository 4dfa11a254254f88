"""/api/hunts: the form, new hunts, and refusals."""

import pytest
from starlette.testclient import TestClient

from drill.contact.setup import OFFERED_CALL
from drill.hunt.values import band_kinds
from tests.drill.hunt.sounding import NoiseSpeech
from tests.web.hunt_client import HUNT, begin_hunt, speak_noise


@pytest.fixture(autouse=True)
def speech(monkeypatch: pytest.MonkeyPatch) -> NoiseSpeech:
    return speak_noise(monkeypatch)


def test_the_form_offers_every_kind_of_band(client: TestClient) -> None:
    options = client.get("/api/hunts").json()
    assert [band["name"] for band in options["bands"]] == list(band_kinds())
    assert all(band["says"].endswith(".") for band in options["bands"])
    assert options["offered_call"] == OFFERED_CALL
    assert options["hunts"] == []


def test_a_new_hunt_is_listed_and_keeps_the_own_call(client: TestClient) -> None:
    identity = begin_hunt(
        client, bands=["open", "nearly-dead"], watts=100, weekend=0.5, call="E87XYZ"
    )
    options = client.get("/api/hunts").json()
    [listed] = options["hunts"]
    assert listed["id"] == identity
    assert listed["bands"] == ["open", "nearly-dead"]
    assert not listed["finished"]
    assert "10 minutes as E87XYZ with 100 W" in listed["sentence"]
    assert options["call"] == "E87XYZ"
    assert client.get(f"/api/hunts/{identity}").json() == listed


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("minutes", 5),
        ("bands", []),
        ("bands", ["crowded"]),
        ("bands", ["open"] * 4),
        ("weekend", 2),
        ("watts", -1),
        ("call", "NO CALL!"),
        ("snr_db", 3),
        ("voice", "nobody"),
    ],
)
def test_a_wrong_entry_is_refused_by_name(client: TestClient, field: str, value: object) -> None:
    response = client.post("/api/hunts", json={**HUNT, field: value})
    assert response.status_code == 400
    assert response.json()["error"]


def test_an_unknown_hunt_is_not_found(client: TestClient) -> None:
    assert client.get(f"/api/hunts/{'0' * 32}").status_code == 404


def test_an_over_by_microphone_needs_a_running_hunt(client: TestClient) -> None:
    identity = begin_hunt(client)
    for body, status in ((b"no sound", 400), (b"", 400)):
        response = client.post(
            f"/api/hunts/voice?session={identity}",
            content=body,
            headers={"content-type": "audio/wav"},
        )
        assert response.status_code == status
