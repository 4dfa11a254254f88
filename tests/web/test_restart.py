"""The program is killed in the middle of a drill: nothing answered is lost, the page goes on."""

import signal
import sys
import time
from http.client import HTTPConnection
from json import dumps, loads
from pathlib import Path
from typing import Any

import pytest

from drill.records.store import Store
from tests.web.client import QUICK, program


class Browser:
    """A page that was loaded: it keeps its cookie and its token over a restart of the server."""

    def __init__(self, address: str) -> None:
        self.host = address.split("/")[2]
        self.token = address.partition("token=")[2]
        self.cookie = ""

    def ask(self, method: str, path: str, body: Any = None) -> tuple[int, Any]:
        connection = HTTPConnection(self.host, timeout=60)
        headers = {"cookie": self.cookie, "origin": f"http://{self.host}"}
        if body is not None:
            headers["content-type"] = "application/json"
        try:
            connection.request(method, path, None if body is None else dumps(body), headers)
            reply = connection.getresponse()
            given = reply.getheader("set-cookie")
            if given:
                self.cookie = given.partition(";")[0]
            content = reply.read()
        finally:
            connection.close()
        return reply.status, loads(content) if content[:1] in (b"{", b"[") else content

    def enter(self) -> None:
        assert self.ask("GET", f"/?token={self.token}")[0] == 303


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL there")
def test_a_killed_server_loses_nothing_and_its_page_goes_on(tmp_path: Path) -> None:
    home = tmp_path / "home"
    answers = "/api/sittings/{}/answers"
    with program(home, "page", "--no-browser", "--port", "0") as (process, address):
        page = Browser(address)
        page.enter()
        status, state = page.ask("POST", "/api/sittings", {"kind": "practice", "count": 4, **QUICK})
        assert status == 200
        body = {"number": 0, "text": "E8AAA", "seconds": 1}
        assert page.ask("POST", answers.format(state["id"]), body)[0] == 200
        item, sound = f"/api/sittings/{state['id']}/items/1", "noise.wav"
        assert page.ask("GET", item)[0] == 200
        before = page.ask("GET", f"{item}/{sound}")[1]
        process.send_signal(signal.SIGKILL)
        process.wait()
    with pytest.raises(OSError):
        page.ask("GET", "/api/settings")
    with Store(home / "data" / "record.sqlite3") as store:
        assert [one.answer.text for one in store.attempts(state["id"])] == ["E8AAA"]
    tokens = home / "data" / "page-tokens.json"
    if sys.platform != "win32":
        assert tokens.stat().st_mode & 0o777 == 0o600
    port = page.host.partition(":")[2]
    with program(home, "--no-browser", "--port", port) as (process, address):
        assert address.partition("token=")[2] != page.token
        assert page.ask("GET", f"/api/sittings/{state['id']}")[0] == 403
        status, given = page.ask("POST", "/api/again", {"token": page.token})
        assert (status, given) == (200, {"token": address.partition("token=")[2]})
        status, now = page.ask("GET", f"/api/sittings/{state['id']}")
        assert (status, now["number"]) == (200, 1)
        assert page.ask("GET", item)[0] == 200
        assert page.ask("GET", f"{item}/{sound}")[1] == before  # the same item, the same sound
        body = {"number": 1, "text": "E8BBB", "seconds": 1}
        assert page.ask("POST", answers.format(state["id"]), body)[0] == 200
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=20) == 130
        assert process.stderr is not None
        told = process.stderr.read()
    assert told.strip() == "faintcall: stopped; what was finished is kept"
    with Store(home / "data" / "record.sqlite3") as store:
        assert [one.answer.text for one in store.attempts(state["id"])] == ["E8AAA", "E8BBB"]


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL there")
def test_what_was_typed_is_in_no_output_and_no_file_but_the_record(tmp_path: Path) -> None:
    home = tmp_path / "home"
    with program(home, "page", "--no-browser", "--port", "0") as (process, address):
        page = Browser(address)
        page.enter()
        state = page.ask("POST", "/api/sittings", {"kind": "practice", "count": 2, **QUICK})[1]
        for text in ("XYZZY9", "x" * 600):
            body = {"number": 0, "text": text, "seconds": 1}
            page.ask("POST", f"/api/sittings/{state['id']}/answers", body)
        page.ask("GET", "/nothing/XYZZY9")
        time.sleep(0.1)
        process.send_signal(signal.SIGINT)
        process.wait(timeout=20)
        assert process.stderr is not None
        assert "XYZZY" not in process.stderr.read()
    for path in home.rglob("*"):
        if path.is_file() and "record.sqlite3" not in path.name:
            assert b"XYZZY" not in path.read_bytes(), path
