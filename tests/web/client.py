"""A visitor of the page without a browser: what the tests of the server hold in common."""

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
from drill.web.api.states import practice_of
from drill.web.app import made

TOKEN = "t" * 43
PORT = 7388
HOST = f"127.0.0.1:{PORT}"
ORIGIN = {"origin": f"http://{HOST}"}
QUICK = {"mix": "unassigned", "voices": ["rivet"]}
"""Choices of a sitting that is composed and spoken in no time."""


def unspoken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have nothing spoken ahead, as where no process can be started; most answers need no sound."""

    def refuse(_: Item) -> None:
        raise OSError("no process")

    monkeypatch.setattr(prefetch, "prefetch_item", refuse)


def stranger(last: str | None = None, *, raises: bool = True) -> TestClient:
    """Return a client that has no cookie; last: the token of the start before."""
    app = made(token=TOKEN, last=last, hosts=[HOST], port=PORT)
    return TestClient(app, base_url=f"http://{HOST}", raise_server_exceptions=raises)


def visitor(*, raises: bool = True) -> TestClient:
    """Return a client that came in by the address printed."""
    client = stranger(raises=raises)
    assert client.get(f"/?token={TOKEN}", follow_redirects=False).status_code == 303
    client.headers.update(ORIGIN)
    return client


def begin(client: TestClient, kind: str = "practice", **choices: Any) -> dict[str, Any]:
    """Begin a sitting; return its state."""
    answer = client.post("/api/sittings", json={"kind": kind, **QUICK, **choices})
    assert answer.status_code == 200, answer.text
    state: dict[str, Any] = answer.json()
    return state


def present(identity: str) -> Item:
    """Return the present item, truth and all, as the record has it."""
    with Store(record_file()) as store:
        return practice_of(store, identity).item()


def answer(client: TestClient, identity: str, number: int, text: str, **more: Any) -> Any:
    """Send an answer; return the response."""
    body = {"number": number, "text": text, "seconds": 1.5, "replays": 0, "gave_up": False}
    return client.post(f"/api/sittings/{identity}/answers", json={**body, **more})


def truth(item: Item) -> str:
    """Return what a perfect listener types."""
    return " ".join(field.text for field in item.message.fields)


@contextmanager
def program(home: Path, *words: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Run `faintcall` with these words; yield the process and the address that it prints."""
    environment = {**os.environ, "FAINTCALL_HOME": str(home), "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(
        [sys.executable, "-m", "drill", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
    )
    assert process.stdout is not None
    lines: queue.Queue[str] = queue.Queue()
    out = process.stdout

    def read() -> None:
        for line in out:
            lines.put(line)

    reader = threading.Thread(target=read, daemon=True)
    reader.start()
    try:
        first = lines.get(timeout=60)
        found = re.search(r"http://127\.0\.0\.1:\d+/\?token=[\w-]{43}", first)
        assert found, first
        yield process, found[0]
    finally:
        process.kill()
        process.wait()
        reader.join(10)
        assert process.stderr is not None
        process.stderr.close()
        out.close()
