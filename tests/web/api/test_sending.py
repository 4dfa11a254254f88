"""The sending drill through the API: a voice of ours says it, as bytes of a sound file."""

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from drill import voices
from drill.core.audio_files import wav_bytes
from drill.core.errors import NoRecogniser
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.records.store import Store
from drill.sending.prompts import prompt, station
from drill.voices.operators import find_operator
from drill.web.api import sending
from drill.web.security import SENT, TAKES
from phonetics.exchanges import load_exchange
from tests.web.client import HOST, visitor

CALL, OTHER = "E87ABC", "E87XYZ"
ASKED = {"kind": "call", "seed": "4", "call": CALL, "exchange": "serial"}
WAV = {"content-type": "audio/wav"}


@pytest.fixture(autouse=True)
def own_home(home: Path) -> Path:
    return home


@pytest.fixture
def client() -> TestClient:
    return visitor()


def spoken(call: str, kind: str = "call") -> Clip:
    """Return what the formant voice makes of a prompt for a call."""
    asked = prompt(kind, station(call, load_exchange("serial")), 4)
    return voices.speak(asked.words, find_operator("rivet"), 4)


def sent(client: TestClient, data: bytes, kind: str = "audio/wav", **asked: str) -> Any:
    return client.post(
        TAKES, params={**ASKED, **asked}, content=data, headers={"content-type": kind}
    )


def line(answer: Any, status: int) -> str:
    assert answer.status_code == status, answer.text
    told: str = answer.json()["error"]
    assert "\n" not in told
    return told


def test_a_prompt_follows_from_call_kind_and_seed(client: TestClient) -> None:
    assert client.get("/api/speak").json()["call"] is None
    assert "own call" in line(client.post("/api/speak/prompts", json={}), 400)
    answer = client.post("/api/speak", json={"call": "no call", "exchange": "serial"})
    assert "own call" in line(answer, 400)
    assert answer.json()["field"] == "own-call"
    answer = client.post("/api/speak", json={"call": CALL, "exchange": "no-such"})
    assert "no-such" in line(answer, 400)
    client.post("/api/speak", json={"call": "e87 abc", "exchange": "zone-itu"})
    known = client.get("/api/speak").json()
    assert (known["call"], known["exchange"]) == (CALL, "zone-itu")
    assert {"serial", "zone-itu"} <= {one["name"] for one in known["exchanges"]}
    one, two = (
        client.post("/api/speak/prompts", json={"kind": "answer", "seed": 5}).json()
        for _ in range(2)
    )
    assert one == two
    assert one["says"].endswith(f"then your exchange: {one['text'].split(' ', 1)[1]}.")
    drawn = client.post("/api/speak/prompts", json={}).json()
    assert drawn["kind"] in {each["name"] for each in known["kinds"]}
    assert "no prompt 'song'" in line(client.post("/api/speak/prompts", json={"kind": "song"}), 400)


def test_a_right_take_has_no_fault_and_its_review_is_kept(client: TestClient, home: Path) -> None:
    found = sent(client, wav_bytes(spoken(CALL))).json()
    assert found["right"]
    assert found["verdict"].startswith("All of it was said")
    assert [one["said"] for one in found["heard"]] == [
        "echo", "eight", "seven", "alfa", "bravo", "charlie",
    ]  # fmt: skip
    assert {one["weight"] for one in found["findings"]} <= {"advice", "not sure"}
    assert found["change"] is None
    ((_, asked, kept),) = Store(record_file()).takes()
    assert (asked["kind"], asked["seed"], kept["right"]) == ("call", 4, True)
    again = sent(client, wav_bytes(spoken(CALL))).json()
    assert "Against your last take of the same" in again["change"]
    # No sound lies on the disk but the speech of our own voices.
    sounds = [p for p in home.rglob("*") if p.suffix in (".wav", ".flac") and "cache" not in str(p)]
    assert sounds == []


def test_another_call_is_found_wrong(client: TestClient) -> None:
    found = sent(client, wav_bytes(spoken(OTHER))).json()
    assert not found["right"]
    faults = [one for one in found["findings"] if one["weight"] == "fault"]
    assert faults
    assert all(one["says"] and one["remedy"] for one in faults)
    told = {one["wanted"]: one["tells"] for one in found["heard"]}
    assert {told["alfa"], told["bravo"], told["charlie"]} & {"wrong", "left out"}
    assert told["echo"] == "right"


def test_flac_in_two_channels_is_taken_too(client: TestClient) -> None:
    clip = spoken(CALL)
    out = io.BytesIO()
    soundfile.write(out, np.stack([clip.samples] * 2, axis=1), clip.rate_hz, format="FLAC")
    assert sent(client, out.getvalue(), "audio/flac").json()["right"]


def test_the_far_end_is_heard_at_three_powers(client: TestClient) -> None:
    take = sent(client, wav_bytes(spoken(CALL))).json()["take"]
    far = client.post("/api/speak/far", json={"take": take, "path_snr_db": 10}).json()
    assert "no human score" in far["label"]
    assert [end["watts"] for end in far["ends"]] == [100, 20, 5]
    # A twentieth of the power is 13 dB less: 10 log10(20).
    assert far["ends"][2]["snr_db"] == pytest.approx(10 - 13.01, abs=0.01)
    assert far["ends"][0]["index"] > far["ends"][2]["index"]
    for end in far["ends"]:
        for which in ("take", "voice"):
            answer = client.get(end[which])
            assert answer.headers["content-type"] == "audio/wav"
            samples, _ = soundfile.read(io.BytesIO(answer.content))
            assert 0.01 < np.max(np.abs(samples)) <= 1
    line(client.post("/api/speak/far", json={"take": "gone"}), 404)
    line(client.post("/api/speak/far", json={"take": take, "conditions": "../x"}), 400)
    line(client.post("/api/speak/far", json={"take": take, "path_snr_db": 900}), 400)


def test_only_the_newest_takes_are_at_hand(client: TestClient) -> None:
    data = wav_bytes(spoken(CALL))
    names = [sent(client, data).json()["take"] for _ in range(sending.MOST_TAKES + 1)]
    line(client.post("/api/speak/far", json={"take": names[0]}), 404)
    assert client.post("/api/speak/far", json={"take": names[-1]}).status_code == 200


def test_what_is_no_take_is_refused_in_one_line(client: TestClient) -> None:
    quiet = Clip(samples=np.zeros(32_000, np.float32), rate_hz=16_000)
    good = wav_bytes(spoken(CALL))
    assert "silent" in line(sent(client, wav_bytes(quiet)), 400)
    assert "WAV or FLAC" in line(sent(client, b"no sound at all"), 400)
    assert "WAV or FLAC" in line(sent(client, b""), 400)
    assert "no audio" in line(sent(client, good[:44]), 400)
    most = SENT[TAKES].most_bytes
    assert str(most) in line(sent(client, bytes(most + 1)), 413)
    chunks = (bytes(1 << 20) for _ in range(8))  # of no stated length
    line(client.post(TAKES, params=ASKED, content=chunks, headers=WAV), 413)
    assert "seed" in line(sent(client, good, seed="x"), 400)
    assert "exchange" in line(sent(client, good, exchange="../../x"), 400)
    assert "own call" in line(sent(client, good, call="-"), 400)
    assert "kind" in line(client.post(TAKES, content=good, headers=WAV), 400)
    assert Store(record_file()).takes() == []


def test_a_short_file_that_stands_for_hours_is_not_unpacked(client: TestClient) -> None:
    out = io.BytesIO()
    with soundfile.SoundFile(out, "w", 8000, 1, format="FLAC") as file:
        for _ in range(20):
            file.write(np.zeros(8000 * 60, np.float32))
    assert len(out.getvalue()) < 200_000
    assert "at most 60 s" in line(sent(client, out.getvalue(), "audio/flac"), 400)
    fast = Clip(samples=np.ones(1000, np.float32), rate_hz=2_000_000)
    assert "2000000 Hz" in line(sent(client, wav_bytes(fast)), 400)


def test_a_take_comes_from_the_page_itself_and_as_a_sound(client: TestClient) -> None:
    data = wav_bytes(spoken(CALL))
    for kind in ("application/json", "text/plain", "multipart/form-data", ""):
        assert "audio/wav" in line(sent(client, data, kind), 400)
    for origin in ("http://evil.example", "null"):
        headers = {**WAV, "origin": origin}
        line(client.post(TAKES, params=ASKED, content=data, headers=headers), 403)
    # What takes JSON takes no sound, however large that may be.
    line(client.post("/api/speak", content=data, headers=WAV), 400)


def test_without_a_listener_the_rest_works(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(*_: object) -> None:
        raise NoRecogniser("the recogniser is missing; install pocketsphinx")

    monkeypatch.setattr(sending, "review", missing)
    assert "pocketsphinx" in line(sent(client, wav_bytes(spoken(CALL))), 503)
    client.post("/api/speak", json={"call": CALL, "exchange": "serial"})
    assert client.post("/api/speak/prompts", json={"kind": "call"}).json()["text"] == CALL


def test_the_page_alone_may_use_the_microphone(client: TestClient) -> None:
    headers = client.get("/speak").headers
    assert "microphone=(self)" in headers["permissions-policy"]
    assert "script-src 'self'" in headers["content-security-policy"]
    assert HOST not in headers["content-security-policy"]


def test_the_report_follows_the_takes(client: TestClient) -> None:
    assert client.get("/api/report").json()["enough"] is False
    sent(client, wav_bytes(spoken(CALL)))
    found = client.get("/api/report").json()
    assert found["enough"] is True
    (own,) = [part for part in found["sections"] if part["title"] == "Your own sending"]
    assert own["sentences"][0].startswith("1 of 1 takes")
    sent(client, wav_bytes(spoken(CALL)))
    again = client.get("/api/report").json()["sections"]
    assert any(line.startswith("2 of 2 takes") for part in again for line in part["sentences"])
