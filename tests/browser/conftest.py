"""A server of the page in this process, and pages of a real Chromium that were let in."""

import os
import re
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlsplit

import pytest
import uvicorn
from playwright.sync_api import Browser, ConsoleMessage, Page, sync_playwright

from drill.web.app import application

TOKEN = "t" * 43
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def site() -> Iterator[str]:
    """Return the address of a server; it reads and writes the home that a test has."""
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    port = listening.getsockname()[1]
    app = application(token=TOKEN, last=None, port=port)
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join()
    listening.close()


@pytest.fixture(scope="session")
def chromium() -> str:
    """Return the program. Without any, tests skip, and in CI they fail."""
    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    if not found:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("no Chromium on this machine")
    return found


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """Return a Chromium; one a test process."""
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=chromium, args=list(QUIET))
        yield made
        made.close()


@pytest.fixture
def page(browser: Browser, site: str) -> Iterator[Page]:
    """Return a page that was let in; an error of a script, or a file that is missing, fails."""
    with let_in(browser, site) as made:
        yield made


@contextmanager
def let_in(browser: Browser, site: str) -> Iterator[Page]:
    """Yield a page of a browser that was let in; what it finds wrong fails at the end."""
    context = browser.new_context()
    context.set_default_timeout(15_000)
    name = f"faintcall-{urlsplit(site).port}"
    context.add_cookies([{"name": name, "value": TOKEN, "url": site}])
    errors: list[str] = []

    def told(message: ConsoleMessage) -> None:
        # What the API refuses is shown to the user, and the browser notes it here as well.
        refused = re.search(r"the server responded with a status of (4|503)", message.text)
        if message.type == "error" and not (refused and "/api/" in message.location["url"]):
            errors.append(f"{message.text} ({message.location['url']})")

    made = context.new_page()
    made.on("pageerror", lambda error: errors.append(str(error)))
    made.on("console", told)
    yield made
    context.close()
    assert not errors, errors
