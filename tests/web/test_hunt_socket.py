"""The WebSocket of a hunt: sound as it is played, acts, bad messages, two windows, the record."""

import json
import wave
from io import BytesIO

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient, WebSocketDenialResponse
from starlette.websockets import WebSocketDisconnect

from drill.core.paths import record_file
from drill.hunt.sessions import HuntSession
from drill.records.store import Store
from drill.web.hunt_feed import GONE, NORMAL, OTHER_WINDOW, QUEUED
from tests.drill.hunt.sounding import NoiseSpeech
from tests.web.client import ORIGIN
from tests.web.hunt_client import (
    PROTOCOLS,
    HuntPage,
    begin_hunt,
    hunt_page,
    socket_address,
    speak_noise,
)


@pytest.fixture(autouse=True)
def speech(monkeypatch: pytest.MonkeyPatch) -> NoiseSpeech:
    return speak_noise(monkeypatch)


def test_the_sound_comes_in_order_and_only_as_fast_as_it_is_played(client: TestClient) -> None:
    with hunt_page(client, begin_hunt(client)) as page:
        page.play(40)
    times = [header[0] for header in page.headers]
    lengths = np.diff([*times, page.played])
    assert times[0] == 0
    assert np.all(lengths > 0)
    assert page.played == times[-1] + lengths[-1]
    samples = np.frombuffer(page.sound, "<i2")
    assert len(samples) == page.played
    assert 500 < np.std(samples) < 8000


def test_a_page_that_plays_nothing_gets_no_more_than_its_queue(client: TestClient) -> None:
    with hunt_page(client, begin_hunt(client)) as page:
        page.wait_for("clock")
        page.send(type="nonsense")
        page.wait_for("refused")
        assert page.played <= QUEUED + 512


def test_acts_take_effect_and_are_recorded(client: TestClient) -> None:
    identity = begin_hunt(client)
    with hunt_page(client, identity) as page:
        dial_hz = page.state()["dial_hz"]
        page.play(3)
        page.send(type="act", kind="tune", hz=dial_hz + 1230.0)
        page.send(type="act", kind="note", text="oh2qrk")
        page.send(type="act", kind="mark", text="try again")
        while not (state := page.state())["marks"]:
            page.play(1)
        page.send(type="act", kind="call")
        page.play(40)
    assert page.headers[-1][1] == dial_hz + 1230.0
    assert state["entry"]["call"] == "OH2QRK"
    assert state["marks"] == [{"hz": dial_hz + 1230.0, "text": "try again"}]
    assert any(header[3] for header in page.headers)
    with Store(record_file()) as store:
        live = HuntSession.load(store, identity, speech=NoiseSpeech()).live
    assert [act.kind for act in live.acts] == ["tune", "note", "mark", "call"]
    assert live.dial_hz == dial_hz + 1230.0


def test_a_hunt_continues_where_it_was(client: TestClient) -> None:
    identity = begin_hunt(client)
    with hunt_page(client, identity) as page:
        page.play(30)
        page.send(type="act", kind="note", text="oh2qrk 12")
        page.play(5)
    with hunt_page(client, identity) as page:
        assert page.state()["notes"] == ["oh2qrk 12"]
        page.play(2)
    assert page.headers[0][0] >= 30 * 512 - QUEUED


def test_the_newest_window_has_the_hunt(client: TestClient) -> None:
    identity = begin_hunt(client)
    with hunt_page(client, identity) as first:
        first.play(3)
        with hunt_page(client, identity) as second:
            with pytest.raises(WebSocketDisconnect) as closed:
                first.play(1000)
            assert closed.value.code == OTHER_WINDOW
            assert "another window" in closed.value.reason
            second.play(10)


def test_the_end_closes_the_socket(client: TestClient) -> None:
    identity = begin_hunt(client)
    with hunt_page(client, identity) as page:
        page.play(2)
        page.send(type="act", kind="end")
        with pytest.raises(WebSocketDisconnect) as closed:
            page.play(100)
        assert closed.value.code == NORMAL
        assert page.messages[-1] == {"type": "ended"}


def test_a_hunt_ends_while_its_clock_is_stopped(client: TestClient) -> None:
    with hunt_page(client, begin_hunt(client)) as page:
        page.wait_for("clock")
        while page.played < QUEUED:
            page.receive()
        page.send(type="act", kind="end")
        with pytest.raises(WebSocketDisconnect) as closed:
            while True:
                page.receive()
        assert closed.value.code == NORMAL


def test_an_unknown_hunt_closes_the_socket(client: TestClient) -> None:
    with hunt_page(client, "0" * 32) as page:
        with pytest.raises(WebSocketDisconnect) as closed:
            page.receive()
        assert closed.value.code == GONE


@pytest.mark.parametrize(
    ("headers", "protocols"),
    [
        ({"origin": "http://faintcall.example"}, PROTOCOLS),
        ({"origin": ""}, PROTOCOLS),
        (ORIGIN, PROTOCOLS[:1]),
        (ORIGIN, [*PROTOCOLS[:1], PROTOCOLS[1][:-1] + "0"]),
    ],
)
def test_foreign_pages_get_no_socket(
    client: TestClient, headers: dict[str, str], protocols: list[str]
) -> None:
    address = socket_address(begin_hunt(client))
    with (
        pytest.raises(WebSocketDenialResponse),
        client.websocket_connect(address, subprotocols=protocols, headers=dict(headers)),
    ):
        pass


BAD_MESSAGES = (
    "",
    "null",
    "[]",
    '{"type": "played"}',
    '{"type": "played", "to": -1}',
    '{"type": "played", "to": 99999999999}',
    '{"type": "played", "to": 1e3}',
    '{"type": "act"}',
    '{"type": "act", "kind": "voice"}',
    '{"type": "act", "kind": "tune"}',
    '{"type": "act", "kind": "tune", "hz": "14200"}',
    '{"type": "act", "kind": "note", "hz": 1.0}',
    '{"type": "act", "kind": "note", "text": "\\ud800"}',
    '{"type": "act", "kind": "mend", "line": 0}',
    '{"type": "act", "kind": "note", "at": 5}',
)


def refusal(page: HuntPage, text: str) -> str:
    """Send a text; return why it was refused."""
    page.socket.send_text(text)
    return str(page.wait_for("refused")["error"])


def test_a_bad_message_is_refused_and_the_hunt_continues(client: TestClient) -> None:
    with hunt_page(client, begin_hunt(client)) as page:
        page.play(2)
        for text in BAD_MESSAGES:
            assert len(refusal(page, text)) > 10, text
        page.socket.send_bytes(b"\x00\xff")
        assert page.wait_for("refused")
        page.play(5)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda children: st.lists(children) | st.dictionaries(st.text(), children),
    max_leaves=5,
)
messages = st.text() | st.dictionaries(
    st.sampled_from(["type", "kind", "to", "hz", "text", "line", "x"]),
    st.sampled_from(["act", "played", "mend", "mark", "tune"]) | json_values,
).map(json.dumps)


@pytest.mark.slow
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(texts=st.lists(messages, min_size=20, max_size=40))
def test_no_message_stops_a_hunt(client: TestClient, texts: list[str]) -> None:
    """Sends up to 1,000 messages, among them valid ones."""
    if not hasattr(client, "hunt"):
        client.hunt = begin_hunt(client)  # type: ignore[attr-defined]
    with hunt_page(client, client.hunt) as page:  # type: ignore[attr-defined]
        page.wait_for("clock")
        for text in texts:
            page.socket.send_text(text)
        page.play(3)


def test_an_over_by_microphone_passes_without_waiting(client: TestClient) -> None:
    identity = begin_hunt(client)
    recording = BytesIO()
    with wave.open(recording, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16_000)
        noise = np.random.default_rng(1).normal(0, 2000, 48_000)
        file.writeframes(noise.astype("<i2").tobytes())
    with hunt_page(client, identity) as page:
        page.play(3)
        response = client.post(
            f"/api/hunts/voice?session={identity}",
            content=recording.getvalue(),
            headers={"content-type": "audio/wav"},
        )
        assert response.json() == {"seconds": 3.0}
        page.play(20)
    skipped_s = np.max(np.diff([header[0] for header in page.headers])) / 16_000
    assert 3.0 < skipped_s < 4.5
