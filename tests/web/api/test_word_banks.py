"""/api/word-banks: consent, recordings, faults, and deletion."""

from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from drill.core.audio_files import read_audio_bytes, wav_bytes
from drill.core.models import Clip
from drill.voices.wordbank.signal_levels import BANK_RATE_HZ
from drill.voices.wordbank.storage import load_bank
from drill.web.body_rules import ROOM_PATH, WORD_PATH
from tests.drill.word_recordings import RATE_HZ, Sound, in_room, recorded_word, word_sound

WAV = {"content-type": "audio/wav"}
MINE = {"name": "mine", "speaker": "Ada", "consent": True}


def take_of(sound: Sound) -> bytes:
    """Return a sound as a WAV file."""
    return wav_bytes(Clip(samples=sound.astype(np.float32), rate_hz=RATE_HZ))


def room(level_db: float = -70.0, seconds: float = 2.0) -> bytes:
    """Return a recording of noise at a level in dB re full scale."""
    noise = np.random.default_rng(1).normal(0, 10 ** (level_db / 20), round(BANK_RATE_HZ * seconds))
    return wav_bytes(Clip(samples=noise.astype(np.float32), rate_hz=BANK_RATE_HZ))


def send_word(client: TestClient, word: str, data: bytes, **query: str) -> Any:
    """Send a recording of a word to the bank "mine"."""
    return client.post(
        WORD_PATH, params={"bank": "mine", "word": word, **query}, content=data, headers=WAV
    )


@pytest.fixture
def bank(client: TestClient) -> dict[str, Any]:
    """Create an empty bank and return it."""
    response = client.post("/api/word-banks", json=MINE)
    assert response.status_code == 200
    created: dict[str, Any] = response.json()
    return created


def test_a_bank_needs_a_name_a_speaker_and_consent(client: TestClient) -> None:
    without = client.post("/api/word-banks", json={**MINE, "consent": False})
    assert (without.status_code, without.json()["field"]) == (400, "consent")
    for field, value in (("name", "Mine!"), ("name", "../x"), ("speaker", " "), ("speaker", 5)):
        response = client.post("/api/word-banks", json={**MINE, field: value})
        assert (response.status_code, response.json()["field"]) == (400, field)
    assert client.get("/api/word-banks").json()["banks"] == []


def test_a_new_bank_lacks_every_word(client: TestClient, bank: dict[str, Any]) -> None:
    essential, *others = bank["groups"]
    assert len(essential["words"]) == 37
    assert not essential["optional"]
    assert all(group["optional"] for group in others)
    assert not any(word["recorded"] for group in bank["groups"] for word in group["words"])
    assert not bank["usable"]
    (row,) = client.get("/api/word-banks").json()["banks"]
    assert (row["name"], row["speaker"], row["operator"]) == ("mine", "Ada", "bank-mine")
    again = client.post("/api/word-banks", json=MINE)
    assert "already a bank" in again.json()["error"]


def test_a_good_recording_is_saved_and_can_be_heard(
    client: TestClient, bank: dict[str, Any]
) -> None:
    reply = send_word(client, "alfa", take_of(recorded_word()), noise_db="-70").json()
    assert reply["saved"], reply
    assert reply["faults"] == []
    assert reply["bank"]["says"].startswith("1 of 37 essential words")
    heard = read_audio_bytes(client.get("/api/word-banks/mine/words/alfa.wav").content, longest_s=5)
    assert heard.seconds > 0.2
    assert client.get("/api/word-banks/mine/words/bravo.wav").status_code == 404
    (essential, *_) = client.get("/api/word-banks/mine").json()["groups"]
    assert [word["word"] for word in essential["words"] if word["recorded"]] == ["alfa"]


def test_a_faulty_recording_is_saved_only_on_request(
    client: TestClient, bank: dict[str, Any]
) -> None:
    clipped = take_of(np.clip(in_room(word_sound(level_db=0.0)), -0.9, 0.9))
    reply = send_word(client, "alfa", clipped).json()
    assert not reply["saved"]
    assert any("clipped" in fault.lower() for fault in reply["faults"])
    stored = load_bank("mine")
    assert stored is not None
    assert not stored.words
    assert send_word(client, "alfa", clipped, keep="yes").json()["saved"]
    stored = load_bank("mine")
    assert stored is not None
    assert list(stored.words) == ["alfa"]


@pytest.mark.parametrize(
    ("query", "field"),
    [({"word": "xyzzy"}, "word"), ({"word": "../alfa"}, "word"), ({"noise_db": "loud"}, "noise_db"),
     ({"noise_db": "nan"}, "noise_db"), ({"noise_db": "5"}, "noise_db"), ({"bank": "A B"}, "name"),
     ({"other": "1"}, "other")],
)  # fmt: skip
def test_a_wrong_query_is_refused(
    client: TestClient, bank: dict[str, Any], query: dict[str, str], field: str
) -> None:
    response = send_word(client, query.pop("word", "alfa"), room(), **query)
    assert (response.status_code, response.json()["field"]) == (400, field)


def test_a_recording_without_a_word_is_refused(client: TestClient, bank: dict[str, Any]) -> None:
    assert "no word" in send_word(client, "alfa", room(), noise_db="-70").json()["error"]
    assert send_word(client, "alfa", b"no sound file").status_code == 400
    assert send_word(client, "alfa", room(), bank="other").status_code == 404


@pytest.mark.parametrize(
    ("level_db", "rating"), [(-75, "quiet"), (-50, "acceptable"), (-35, "noisy")]
)
def test_the_room_is_rated(client: TestClient, level_db: float, rating: str) -> None:
    reply = client.post(ROOM_PATH, content=room(level_db), headers=WAV).json()
    assert reply["rating"] == rating
    assert reply["noise_db"] == pytest.approx(level_db, abs=1.5)
    assert reply["says"].startswith("Background noise")


def test_a_dead_microphone_is_not_a_quiet_room(client: TestClient) -> None:
    reply = client.post(ROOM_PATH, content=room(-190), headers=WAV).json()
    assert reply["rating"] == "silent"
    assert reply["says"].startswith("The microphone delivers silence")


def test_a_bank_is_deleted(client: TestClient, bank: dict[str, Any]) -> None:
    send_word(client, "alfa", take_of(recorded_word()), keep="yes")
    assert client.post("/api/word-banks/mine/delete", json={}).json()["banks"] == []
    assert client.post("/api/word-banks/mine/delete", json={}).status_code == 404
    assert load_bank("mine") is None
