"""HTTP clients and a server process for tests of the server, without a browser."""

import os
import queue
import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from drill.core.models import Item
from drill.core.paths import record_file
from drill.items import prefetch
from drill.records.store import Store
from drill.web.api.states import load_session
from drill.web.app import create_app
from drill.web.page_key import request_key
from drill.web.security import KEY_HEADER

TOKEN = "t" * 43
PAGE_KEY = "k" * 43
PORT = 7388
HOST = f"127.0.0.1:{PORT}"
ORIGIN = {"origin": f"http://{HOST}"}
FAST_OPTIONS = {"mix": "unassigned", "voices": ["rivet"]}
"""Options of a session whose items are composed and synthesised quickly."""
START_TIMEOUT_S, EXIT_TIMEOUT_S = 300, 120
"""Waiting times for a program on a very busy machine; a healthy one needs a second or two."""


def disable_prefetch(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make prefetching fail, as if no worker process could start: most tests need no audio."""

    def fail(_: object) -> None:
        raise OSError("no process")

    for name in ("prefetch_item", "prefetch_speech"):
        monkeypatch.setattr(prefetch, name, fail)


def anonymous_client(*, raise_errors: bool = True) -> TestClient:
    """Return a client without cookie and key.

    raise_errors: whether an exception inside the server is raised in the test.
    """
    app = create_app(token=TOKEN, page_key=PAGE_KEY, port=PORT)
    return TestClient(app, base_url=f"http://{HOST}", raise_server_exceptions=raise_errors)


def logged_in_client(*, raise_errors: bool = True) -> TestClient:
    """Return a client with the cookie that the printed address sets."""
    client = anonymous_client(raise_errors=raise_errors)
    assert client.get(f"/?token={TOKEN}").status_code == 200
    client.headers.update({**ORIGIN, KEY_HEADER: request_key(TOKEN)})
    return client


def begin_session(client: TestClient, kind: str = "practice", **options: Any) -> dict[str, Any]:
    """Begin a session; return its state."""
    response = client.post("/api/sessions", json={"kind": kind, **FAST_OPTIONS, **options})
    assert response.status_code == 200, response.text
    state: dict[str, Any] = response.json()
    return state


def current_item(session: str) -> Item:
    """Return the current item of a session, with its correct answer."""
    with Store(record_file()) as store:
        return load_session(store, session).item()


def post_answer(client: TestClient, session: str, number: int, text: str, **more: Any) -> Any:
    """Send an answer; return the response."""
    body = {"number": number, "text": text, "seconds": 1.5, "replays": 0, "gave_up": False}
    return client.post(f"/api/sessions/{session}/answers", json={**body, **more})


def correct_answer(item: Item) -> str:
    """Return the answer of a perfect listener."""
    return " ".join(field.text for field in item.message.fields)


@contextmanager
def running_program(home: Path, *arguments: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Run `faintcall` with arguments; yield the process and the address that it prints."""
    environment = {**os.environ, "FAINTCALL_HOME": str(home), "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(
        [sys.executable, "-m", "drill", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
    )
    assert process.stdout is not None
    assert process.stderr is not None
    stdout = process.stdout
    lines: queue.Queue[str] = queue.Queue()

    def read_lines() -> None:
        for line in stdout:
            lines.put(line)
        lines.put("")  # the program has ended

    reader = threading.Thread(target=read_lines, daemon=True)
    reader.start()
    try:
        first_line = lines.get(timeout=START_TIMEOUT_S)
        address = re.search(r"http://127\.0\.0\.1:\d+/\?token=[\w-]{43}", first_line)
        assert address, first_line or process.stderr.read()
        yield process, address[0]
    finally:
        process.kill()
        process.wait()
        reader.join(10)
        process.stderr.close()
        stdout.close()
