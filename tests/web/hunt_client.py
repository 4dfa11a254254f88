"""A page's side of a hunt's WebSocket, without a browser."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from starlette.testclient import TestClient, WebSocketTestSession

from drill.web import hunt_feed, hunt_sessions
from drill.web.api import hunts
from drill.web.hunt_messages import HEADER
from drill.web.page_key import request_key
from drill.web.socket_guard import KEY_PROTOCOL_PREFIX, SOCKET_PROTOCOL
from tests.drill.hunt.sounding import NoiseSpeech
from tests.web.client import HOST, ORIGIN, TOKEN

HUNT = {
    "call": "E87ABC",
    "minutes": 10,
    "bands": ["jammed"],
    "voice": "rivet",
    "voices": ["rivet"],
    "mix": "unassigned",
    "seed": 5,
}
PROTOCOLS = [SOCKET_PROTOCOL, KEY_PROTOCOL_PREFIX + request_key(TOKEN)]


def speak_noise(monkeypatch: pytest.MonkeyPatch) -> NoiseSpeech:
    """Make hunts use noise as speech, without a worker process."""
    speech = NoiseSpeech()
    for module in (hunt_feed, hunt_sessions, hunts):
        monkeypatch.setattr(module, "shared_worker_speech", lambda: speech)
    return speech


def begin_hunt(client: TestClient, **options: Any) -> str:
    """Record a new hunt; return its identity."""
    response = client.post("/api/hunts", json={**HUNT, **options})
    assert response.status_code == 200, response.text
    return str(response.json()["id"])


def socket_address(identity: str) -> str:
    """Return the address of a hunt's socket."""
    return f"ws://{HOST}/api/hunts/{identity}/sound"


class HuntPage:
    """A page that plays its sound at once. played: samples so far. messages: text messages."""

    def __init__(self, socket: WebSocketTestSession) -> None:
        """Use an open socket."""
        self.socket = socket
        self.played = 0
        self.messages: list[dict[str, Any]] = []
        self.headers: list[tuple[float, float, float, int]] = []
        self.sound = b""

    def send(self, **message: Any) -> None:
        """Send a message to the server."""
        self.socket.send_text(json.dumps(message))

    def play(self, blocks: int) -> None:
        """Receive blocks of sound; before each block, report what was played."""
        for _ in range(blocks):
            self.send(type="played", to=self.played)
            while not self.receive():
                pass

    def wait_for(self, kind: str) -> dict[str, Any]:
        """Receive until a message of this type comes; return it."""
        while not self.messages or self.messages[-1]["type"] != kind:
            self.receive()
        return self.messages.pop()

    def state(self) -> dict[str, Any]:
        """Return the latest state of the hunt; wait for the first."""
        while not (states := [m["state"] for m in self.messages if m["type"] == "state"]):
            self.receive()
        return dict(states[-1])

    def receive(self) -> int:
        """Receive one message; return the number of samples in it.

        Raises: WebSocketDisconnect.
        """
        message = self.socket.receive()
        self.socket._raise_on_close(message)
        frame = message.get("bytes")
        if frame is None:
            self.messages.append(json.loads(message["text"]))
            return 0
        self.headers.append(HEADER.unpack_from(frame))
        self.sound += frame[HEADER.size :]
        count = (len(frame) - HEADER.size) // 2
        self.played += count
        return count


@contextmanager
def hunt_page(client: TestClient, identity: str) -> Iterator[HuntPage]:
    """Open the socket of a hunt."""
    with client.websocket_connect(
        socket_address(identity), subprotocols=PROTOCOLS, headers=dict(ORIGIN)
    ) as socket:
        yield HuntPage(socket)
