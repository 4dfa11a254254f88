"""The program is killed and started again; one session in two windows."""

import re
import signal
import sys
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from playwright.sync_api import Browser, Page, expect

from drill.web.browser import redirect_file
from tests.browser.session_steps import (
    SOUND_COUNTER,
    WRONG,
    begin_practice,
    enter,
    focused_id,
    open_session,
    play,
    stored_attempts,
)
from tests.web.client import running_program


def play_until_killed(page: Page, home: Path, session: str) -> str:
    """Play the first item of a session, kill the program, and return its address."""
    page.add_init_script(SOUND_COUNTER)
    with running_program(home, "page", "--no-browser", "--port", "0") as (process, address):
        page.goto(address)
        page.goto(f"{address.split('?')[0]}practise?session={session}")
        expect(page.locator("#answer-line")).to_be_focused()
        play(page)
        process.send_signal(signal.SIGKILL)
        process.wait()
    return address


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGKILL")
def test_answer_typed_while_the_program_is_down_is_kept_after_a_restart(
    browser: Browser, home: Path
) -> None:
    session = begin_practice()
    context = browser.new_context()
    page = context.new_page()
    address = play_until_killed(page, home, session)
    enter(page, WRONG)
    expect(page.get_by_text("faintcall is not responding.").first).to_be_visible()
    assert focused_id(page) == "answer-line"
    assert stored_attempts(session) == []
    port = address.split("/")[2].partition(":")[2]
    with running_program(home, "page", "--no-browser", "--port", port):
        expect(page.locator("#verdict")).to_contain_text("Not right")
        expect(page.locator("#connection-problem")).to_be_hidden()
        assert [attempt.answer.typed for attempt in stored_attempts(session)] == [WRONG]
        play(page, 2)
        assert focused_id(page) == "answer-line"
        context.close()


@pytest.mark.slow
def test_two_windows_cannot_answer_the_same_item(page: Page, site: str, home: Path) -> None:
    session = begin_practice()
    other = page.context.new_page()
    for window in (page, other):
        open_session(window, site, f"practise?session={session}")
        play(window)
    enter(page, "e8aaa")
    expect(page.locator("#verdict")).to_be_visible()
    enter(other, "e8bbb")
    status = other.get_by_role("status")
    expect(status).to_contain_text("Item 1 is already answered.")
    expect(other.get_by_role("heading", name="Item 2 of 2")).to_be_visible()
    assert focused_id(other) == "answer-line"
    play(other, 2)
    enter(other, ".")
    expect(other.locator("#verdict")).to_contain_text("Given up")
    # The first window has prepared item 2 and plays it, but cannot answer it again.
    play(page, 2)
    enter(page, "e8ccc")
    expect(page.get_by_role("button", name="Done")).to_be_focused()
    assert [attempt.answer.typed for attempt in stored_attempts(session)] == ["e8aaa", ""]


class Impostor:
    """Another user's program that takes over the port, and accepts and records every request."""

    def __init__(self, port: int) -> None:
        received: list[str] = []

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                length = int(self.headers.get("content-length", 0))
                received.append(f"{self.path} {self.headers} {self.rfile.read(length).decode()}")
                self.send_response(200)
                self.send_header("content-type", "application/json")
                self.end_headers()
                self.wfile.write(b'{"nonce": "00", "proof": "00", "key": "00", "token": "00"}')

            def do_GET(self) -> None:
                self.do_POST()

            def log_message(self, *_: object) -> None:
                pass

        self.received = received
        self._server = ThreadingHTTPServer(("127.0.0.1", port), Handler)
        self._thread = threading.Thread(target=self._server.serve_forever, daemon=True)

    def __enter__(self) -> "Impostor":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGKILL")
def test_a_program_that_takes_over_the_port_learns_nothing(browser: Browser, home: Path) -> None:
    """The page also continues if the program was started and stopped without the page noticing."""
    session = begin_practice()
    context = browser.new_context()
    page = context.new_page()
    address = play_until_killed(page, home, session)
    port = address.split("/")[2].partition(":")[2]
    page_key = (home / "data" / "page-key").read_text()
    token = address.partition("token=")[2]
    with Impostor(int(port)) as impostor:
        enter(page, WRONG)
        expect(page.get_by_text("faintcall is not responding.").first).to_be_visible()
        page.wait_for_timeout(2500)  # two attempts to reconnect
        received = "\n".join(impostor.received)
    assert received.count("/api/again") >= 2
    assert "/answers" not in received
    for secret in (WRONG, page_key, token):
        assert secret not in received
    with running_program(home, "page", "--no-browser", "--port", port) as (_, _):
        pass  # a run that can end before the page notices it
    with running_program(home, "page", "--no-browser", "--port", port) as (_, address):
        expect(page.locator("#verdict")).to_contain_text("Not right")
        assert [attempt.answer.typed for attempt in stored_attempts(session)] == [WRONG]
        # The impostor can use nothing that it received, neither cookie nor key.
        key = re.search("x-faintcall-key: ([0-9a-f]+)", received)
        cookie = re.search("(?i)cookie: (.*)", received)
        assert key
        assert cookie
        headers = {"x-faintcall-key": key[1], "cookie": cookie[1].strip()}
        request = Request(f"http://127.0.0.1:{port}/api/page-key", headers=headers)
        with pytest.raises(HTTPError, match="403"):
            urlopen(request)
    context.close()


def test_the_file_that_faintcall_opens_leads_to_a_working_page(
    browser: Browser, home: Path
) -> None:
    context = browser.new_context()
    page = context.new_page()
    with running_program(home, "page", "--no-browser", "--port", "0") as (_, address):
        file = redirect_file(address)
        page.goto(file.as_uri())
        expect(page.locator("#today-begin")).to_be_visible()
        page.wait_for_url(address.split("?")[0])
        assert "token" not in page.url
        page.goto(f"{address.split('?')[0]}history")
        expect(page.get_by_text("Nothing is recorded yet").first).to_be_visible()
    context.close()


def test_a_reload_after_a_restart_shows_a_page(browser: Browser, home: Path) -> None:
    context = browser.new_context()
    page = context.new_page()
    with running_program(home, "page", "--no-browser", "--port", "0") as (_, address):
        page.goto(address)
        port = address.split("/")[2].partition(":")[2]
    with running_program(home, "page", "--no-browser", "--port", port):
        page.reload()
        expect(page.get_by_role("heading", name="faintcall")).to_be_visible()
        expect(page.get_by_text("opens only with the address")).to_be_visible()
    context.close()
