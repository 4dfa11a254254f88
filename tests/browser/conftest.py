"""A server in this process, and pages of a real Chromium that are logged in."""

import os
import re
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import uvicorn
from playwright.sync_api import Browser, ConsoleMessage, Page, expect, sync_playwright

from drill.web.app import create_app
from drill.web.page_key import cookie_value, request_key

TOKEN = "t" * 43
PAGE_KEY = "k" * 43
CHROMIUM_ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
TIMEOUT_MS = 60_000
"""Limit of every action and expectation; only a broken page reaches it, even on a busy computer."""

expect.set_options(timeout=TIMEOUT_MS)


@pytest.fixture(scope="session")
def site() -> Iterator[str]:
    """Address of a server for all tests; it uses the home directory of the running test."""
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    port = listener.getsockname()[1]
    app = create_app(token=TOKEN, page_key=PAGE_KEY, port=port)
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join()
    listener.close()


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of Chromium or Chrome. Without one the tests are skipped, and in CI they fail."""
    path = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    if not path:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("no Chromium on this computer")
    return path


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """One Chromium for all tests of this process."""
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(
            executable_path=chromium, args=list(CHROMIUM_ARGUMENTS)
        )
        yield running
        running.close()


@pytest.fixture
def page(browser: Browser, site: str) -> Iterator[Page]:
    """A logged-in page; the test fails if a script fails or a file is missing."""
    with logged_in_page(browser, site) as new_page:
        yield new_page


@contextmanager
def logged_in_page(browser: Browser, site: str) -> Iterator[Page]:
    """Yield a page with the cookie; fail at the end if it reported errors."""
    context = browser.new_context()
    context.set_default_timeout(TIMEOUT_MS)
    cookie = f"faintcall-{urlsplit(site).port}"
    context.add_cookies([{"name": cookie, "value": cookie_value(TOKEN), "url": site}])
    key = request_key(TOKEN)
    context.add_init_script(f"try {{ localStorage.setItem('faintcall-key', '{key}') }} catch {{}}")
    errors: list[str] = []

    def note_console_error(message: ConsoleMessage) -> None:
        # The browser logs refusals of the API and unknown help topics, which the page shows itself,
        # and a refused icon, because the browser may request the icon after a test has deleted the
        # cookie.
        url = message.location["url"]
        refused = re.search(r"the server responded with a status of (4|503)", message.text)
        expected = re.search(r"/api/|/help/|/mark\.svg$", url)
        if message.type == "error" and not (refused and expected):
            errors.append(f"{message.text} ({url})")

    new_page = context.new_page()
    new_page.on("pageerror", lambda error: errors.append(str(error)))
    new_page.on("console", note_console_error)
    yield new_page
    context.close()
    assert not errors, errors


QUICK_FILES = {"test_network.py"}
"""Files of this folder that run in the quick suite; the others take too long."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the tests of all other files in this folder slow."""
    folder = Path(__file__).parent
    for item in items:
        if item.path.parent == folder and item.path.name not in QUICK_FILES:
            item.add_marker(pytest.mark.slow)
