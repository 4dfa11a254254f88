"""The program is killed during a session: no answer is lost, and the open page continues."""

import signal
import sys
from http.client import HTTPConnection
from json import dumps, loads
from pathlib import Path
from typing import Any

import pytest

from drill.records.store import Store
from drill.web.page_key import PAGE_ROLE, SERVER_ROLE, proof, request_key
from drill.web.security import KEY_HEADER
from tests.web.client import EXIT_TIMEOUT_S, FAST_OPTIONS, running_program

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGKILL")
START_PAGE = ("page", "--no-browser", "--port", "0")


class OpenPage:
    """A page that is loaded once and keeps its cookie and keys when the server is restarted."""

    def __init__(self, address: str) -> None:
        """Log in at the printed address."""
        self.host = address.split("/")[2]
        self.token = address.partition("token=")[2]
        self.cookie = ""
        self.key = request_key(self.token)
        assert self.request("GET", f"/?token={self.token}")[0] == 200
        self.page_key = self.request("GET", "/api/page-key")[1]["key"]

    def request(self, method: str, path: str, body: Any = None) -> tuple[int, Any]:
        """Return the status and the content: data if it is JSON, else bytes."""
        connection = HTTPConnection(self.host, timeout=60)
        headers = {"cookie": self.cookie, "origin": f"http://{self.host}", KEY_HEADER: self.key}
        if body is not None:
            headers["content-type"] = "application/json"
        try:
            connection.request(method, path, None if body is None else dumps(body), headers)
            response = connection.getresponse()
            cookie = response.getheader("set-cookie")
            if cookie:
                self.cookie = cookie.partition(";")[0]
            content = response.read()
        finally:
            connection.close()
        return response.status, loads(content) if content[:1] in (b"{", b"[") else content

    def continue_after_restart(self) -> None:
        """Check the server's proof, give the page's own, and take cookie and key."""
        port = int(self.host.partition(":")[2])
        nonce = "n" * 32
        status, given = self.request("POST", "/api/again", {"nonce": nonce})
        assert status == 200
        assert given["proof"] == proof(self.page_key, SERVER_ROLE, port, nonce, given["nonce"])
        own = proof(self.page_key, PAGE_ROLE, port, nonce, given["nonce"])
        body = {"nonce": nonce, "server_nonce": given["nonce"], "proof": own}
        status, result = self.request("POST", "/api/again", body)
        assert status == 200
        self.key = result["key"]

    def begin_session(self, count: int) -> str:
        """Begin a practice session; return its identity."""
        options = {"kind": "practice", "count": count, **FAST_OPTIONS}
        status, state = self.request("POST", "/api/sessions", options)
        assert status == 200
        return str(state["id"])

    def answer(self, session: str, number: int, text: str) -> int:
        """Answer an item; return the status."""
        body = {"number": number, "text": text, "seconds": 1}
        return self.request("POST", f"/api/sessions/{session}/answers", body)[0]


def stored_answers(home: Path, session: str) -> list[str]:
    with Store(home / "data" / "record.sqlite3") as store:
        return [attempt.answer.typed for attempt in store.attempts(session)]


@pytest.mark.slow
def test_killed_server_loses_no_answer_and_its_page_continues(tmp_path: Path) -> None:
    home = tmp_path / "home"
    with running_program(home, *START_PAGE) as (process, address):
        page = OpenPage(address)
        session = page.begin_session(count=4)
        assert page.answer(session, 0, "E8AAA") == 200
        item = f"/api/sessions/{session}/items/1"
        assert page.request("GET", item)[0] == 200
        sound = page.request("GET", f"{item}/noise.wav")[1]
        process.send_signal(signal.SIGKILL)
        process.wait()
    with pytest.raises(OSError):
        page.request("GET", "/api/settings")
    assert stored_answers(home, session) == ["E8AAA"]
    for path in (home / "data").iterdir():
        assert path.stat().st_mode & 0o077 == 0, path
    port = page.host.partition(":")[2]
    with running_program(home, "--no-browser", "--port", port) as (process, address):
        new_token = address.partition("token=")[2]
        assert new_token != page.token
        assert page.request("GET", f"/api/sessions/{session}")[0] == 403
        page.continue_after_restart()
        status, state = page.request("GET", f"/api/sessions/{session}")
        assert (status, state["number"]) == (200, 1)
        assert page.request("GET", item)[0] == 200
        assert page.request("GET", f"{item}/noise.wav")[1] == sound
        assert page.answer(session, 1, "E8BBB") == 200
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=EXIT_TIMEOUT_S) == 130
        assert process.stderr is not None
        assert (
            process.stderr.read().strip() == "faintcall: stopped; everything you finished is saved"
        )
    assert stored_answers(home, session) == ["E8AAA", "E8BBB"]


def test_typed_text_reaches_no_output_and_no_file_but_the_record(tmp_path: Path) -> None:
    home = tmp_path / "home"
    with running_program(home, *START_PAGE) as (process, address):
        page = OpenPage(address)
        session = page.begin_session(count=2)
        for text in ("XYZZY9", "x" * 600):
            page.answer(session, 0, text)
        page.request("GET", "/nothing/XYZZY9")
        process.send_signal(signal.SIGINT)
        process.wait(timeout=EXIT_TIMEOUT_S)
        assert process.stderr is not None
        assert "XYZZY" not in process.stderr.read()
    for path in home.rglob("*"):
        if path.is_file() and "record.sqlite3" not in path.name:
            assert b"XYZZY" not in path.read_bytes(), path
