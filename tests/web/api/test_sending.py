"""/api/speak: a synthetic voice says the prompts, and the test uploads it as a sound file."""

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from drill import voices
from drill.core.audio_files import wav_bytes
from drill.core.counting import plural
from drill.core.errors import NoRecogniser
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.records.store import Store
from drill.sending.own_station import make_own_station
from drill.sending.prompts import compose_prompt
from drill.voices.operators import find_operator
from drill.web.api import sending
from drill.web.body_rules import AUDIO_RULE, TAKES_PATH
from phonetics.exchanges import load_exchange

CALL, OTHER_CALL = "E87ABC", "E87XYZ"
PROMPT_QUERY = {"kind": "call", "seed": "4", "call": CALL, "exchange": "serial"}
WAV_TYPE = {"content-type": "audio/wav"}


def spoken_prompt(call: str, kind: str = "call") -> Clip:
    """Return a prompt for a call in the formant voice."""
    words = compose_prompt(kind, make_own_station(call, load_exchange("serial")), 4).words
    return voices.speak(words, find_operator("rivet"), 4)


def send_take(
    client: TestClient, data: bytes, content_type: str = "audio/wav", **query: str
) -> Any:
    """Send a take; return the response."""
    return client.post(
        TAKES_PATH,
        params={**PROMPT_QUERY, **query},
        content=data,
        headers={"content-type": content_type},
    )


def stored_takes() -> list[Any]:
    with Store(record_file()) as store:
        return list(store.takes())


def error_message(response: Any, status: int) -> str:
    """Check the status; return the error, which is one line."""
    assert response.status_code == status, response.text
    message: str = response.json()["error"]
    assert "\n" not in message
    return message


def test_own_call_and_exchange_are_stored_once(client: TestClient) -> None:
    assert client.get("/api/speak").json()["call"] is None
    response = client.post("/api/speak/prompts", json={})
    assert "call" in error_message(response, 400)
    assert response.json()["field"] == "call"
    for wrong in ("no call", "  "):
        response = client.post("/api/speak", json={"call": wrong, "exchange": "serial"})
        assert "call" in error_message(response, 400)
        assert response.json()["field"] == "call"
    response = client.post("/api/speak", json={"call": CALL, "exchange": "no-such"})
    assert "no-such" in error_message(response, 400)
    client.post("/api/speak", json={"call": "e87 abc", "exchange": "zone-itu"})
    options = client.get("/api/speak").json()
    assert (options["call"], options["exchange"]) == (CALL, "zone-itu")
    assert {"serial", "zone-itu"} <= {entry["name"] for entry in options["exchanges"]}


def test_prompt_follows_from_call_kind_and_seed(client: TestClient) -> None:
    client.post("/api/speak", json={"call": CALL, "exchange": "zone-itu"})
    body = {"kind": "answer", "seed": 5}
    first, second = (client.post("/api/speak/prompts", json=body).json() for _ in range(2))
    assert first == second
    assert first["text"].split(" ", 1)[1] in first["says"]
    drawn = client.post("/api/speak/prompts", json={}).json()
    kinds = {entry["name"] for entry in client.get("/api/speak").json()["kinds"]}
    assert drawn["kind"] in kinds
    response = client.post("/api/speak/prompts", json={"kind": "song"})
    assert "'song'" in error_message(response, 400)


def test_right_take_has_no_fault_and_its_review_is_stored(client: TestClient, home: Path) -> None:
    review = send_take(client, wav_bytes(spoken_prompt(CALL))).json()
    assert review["right"]
    assert [word["recognised"] for word in review["words"]] == [
        "echo", "eight", "seven", "alfa", "bravo", "charlie",
    ]  # fmt: skip
    assert {finding["weight"] for finding in review["findings"]} <= {"advice", "not sure"}
    assert review["change"] is None
    ((_, stored_prompt, stored_review),) = stored_takes()
    assert (stored_prompt["kind"], stored_prompt["seed"]) == ("call", 4)
    assert stored_review["right"] is True
    second_review = send_take(client, wav_bytes(spoken_prompt(CALL))).json()
    assert "your last take" in second_review["change"]
    # The only sound files on the disk are cached speech of the program's own voices.
    files = [path for path in home.rglob("*") if path.suffix in (".wav", ".flac")]
    assert [path for path in files if "cache" not in str(path)] == []


def test_wrong_call_is_reported_word_by_word(client: TestClient) -> None:
    review = send_take(client, wav_bytes(spoken_prompt(OTHER_CALL))).json()
    assert not review["right"]
    faults = [finding for finding in review["findings"] if finding["weight"] == "fault"]
    assert faults
    assert all(fault["says"] and fault["remedy"] for fault in faults)
    results = {word["expected"]: word["result"] for word in review["words"]}
    assert {results["alfa"], results["bravo"], results["charlie"]} & {"wrong", "left out"}
    assert results["echo"] == "right"


def test_flac_with_two_channels_is_accepted(client: TestClient) -> None:
    clip = spoken_prompt(CALL)
    file = io.BytesIO()
    soundfile.write(file, np.stack([clip.samples] * 2, axis=1), clip.rate_hz, format="FLAC")
    assert send_take(client, file.getvalue(), "audio/flac").json()["right"]


def test_far_end_is_simulated_at_three_powers(client: TestClient) -> None:
    take = send_take(client, wav_bytes(spoken_prompt(CALL))).json()["take"]
    far = client.post("/api/speak/far", json={"take": take, "path_snr_db": 10}).json()
    assert far["label"]
    assert [end["watts"] for end in far["ends"]] == [100, 20, 5]
    # A twentieth of the power is 13 dB less: 10 log10(20).
    assert far["ends"][2]["snr_db"] == pytest.approx(10 - 13.01, abs=0.01)
    assert far["ends"][0]["index"] > far["ends"][2]["index"]
    copies = far["copies"]
    assert [figure.split(" your call")[0] for figure in copies["figures"]] == [
        "Of 10 tries at 100 W", "Of 10 tries at 20 W", "Of 10 tries at 5 W",
    ]  # fmt: skip
    assert copies["table"]["head"] == ["word", "100 W", "20 W", "5 W"]
    assert copies["table"]["rows"][0][0] == "echo"
    for end in far["ends"]:
        for sound in ("take", "voice"):
            response = client.get(end[sound])
            assert response.headers["content-type"] == "audio/wav"
            samples, _ = soundfile.read(io.BytesIO(response.content))
            assert 0.01 < np.max(np.abs(samples)) <= 1
    for body, status in (
        ({"take": "gone"}, 404),
        ({"take": take, "conditions": "../x"}, 400),
        ({"take": take, "path_snr_db": 900}, 400),
    ):
        error_message(client.post("/api/speak/far", json=body), status)


@pytest.mark.slow
def test_only_the_newest_takes_stay_in_memory(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sending, "MAX_TAKES", 1)
    data = wav_bytes(spoken_prompt(CALL))
    first, second = (send_take(client, data).json()["take"] for _ in range(2))
    error_message(client.post("/api/speak/far", json={"take": first}), 404)
    assert client.post("/api/speak/far", json={"take": second}).status_code == 200


def test_unusable_takes_are_refused_in_one_line(client: TestClient) -> None:
    silence = Clip(samples=np.zeros(32_000, np.float32), rate_hz=16_000)
    take = wav_bytes(spoken_prompt(CALL))
    assert "silent" in error_message(send_take(client, wav_bytes(silence)), 400)
    assert "WAV or FLAC" in error_message(send_take(client, b"not a sound file"), 400)
    assert "WAV or FLAC" in error_message(send_take(client, b""), 400)
    assert "no audio" in error_message(send_take(client, take[:44]), 400)
    limit = AUDIO_RULE.max_bytes
    assert str(limit) in error_message(send_take(client, bytes(limit + 1)), 413)
    chunks = (bytes(1 << 20) for _ in range(8))  # a body without a stated length
    response = client.post(TAKES_PATH, params=PROMPT_QUERY, content=chunks, headers=WAV_TYPE)
    error_message(response, 413)
    assert "seed" in error_message(send_take(client, take, seed="x"), 400)
    assert "exchange" in error_message(send_take(client, take, exchange="../../x"), 400)
    assert "call" in error_message(send_take(client, take, call="-"), 400)
    response = client.post(TAKES_PATH, content=take, headers=WAV_TYPE)
    assert "kind is missing" in error_message(response, 400)
    assert stored_takes() == []


def test_small_file_with_a_long_sound_is_not_unpacked(client: TestClient) -> None:
    file = io.BytesIO()
    with soundfile.SoundFile(file, "w", 8000, 1, format="FLAC") as sound:
        for _ in range(20):
            sound.write(np.zeros(8000 * 60, np.float32))
    assert len(file.getvalue()) < 200_000
    assert "at most 60 s" in error_message(send_take(client, file.getvalue(), "audio/flac"), 400)
    fast = Clip(samples=np.ones(1000, np.float32), rate_hz=2_000_000)
    assert "2000000 Hz" in error_message(send_take(client, wav_bytes(fast)), 400)


def test_take_has_to_be_audio_from_the_page_itself(client: TestClient) -> None:
    data = wav_bytes(spoken_prompt(CALL))
    for content_type in ("application/json", "text/plain", "multipart/form-data", ""):
        assert "audio/wav" in error_message(send_take(client, data, content_type), 400)
    for origin in ("http://evil.example", "null"):
        headers = {**WAV_TYPE, "origin": origin}
        response = client.post(TAKES_PATH, params=PROMPT_QUERY, content=data, headers=headers)
        error_message(response, 403)
    # An address that takes JSON accepts no audio.
    error_message(client.post("/api/speak", content=data, headers=WAV_TYPE), 400)


def test_prompts_work_without_a_recogniser(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise NoRecogniser("the recogniser is missing; install pocketsphinx")

    monkeypatch.setattr(sending, "review_take", fail)
    response = send_take(client, wav_bytes(spoken_prompt(CALL)))
    assert "pocketsphinx" in error_message(response, 503)
    client.post("/api/speak", json={"call": CALL, "exchange": "serial"})
    assert client.post("/api/speak/prompts", json={"kind": "call"}).json()["text"] == CALL


def test_report_counts_the_takes(client: TestClient) -> None:
    assert client.get("/api/report").json()["enough"] is False
    for count in (1, 2):
        send_take(client, wav_bytes(spoken_prompt(CALL)))
        report = client.get("/api/report").json()
        assert report["enough"] is True
        sentences = [line for section in report["sections"] for line in section["sentences"]]
        assert any(f": {count} of {plural(count, 'take')}." in line for line in sentences)
