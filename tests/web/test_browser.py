"""faintcall passes the browser the name of a private file, never the token."""

import os
import stat
import threading
import webbrowser
from pathlib import Path
from urllib.parse import urlsplit
from urllib.request import url2pathname

import pytest

from drill.web import browser

ADDRESS = "http://127.0.0.1:7388/?token=secret"


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return a list that collects the arguments with which the browser is started."""
    arguments: list[str] = []
    monkeypatch.setattr(webbrowser, "open", arguments.append)
    return arguments


@pytest.mark.slow
@pytest.mark.usefixtures("home")
def test_the_browsers_argument_is_a_file_that_leads_to_the_address(opened: list[str]) -> None:
    file = browser.open_page(ADDRESS)
    assert file is not None
    for thread in threading.enumerate():
        if thread is not threading.current_thread() and not isinstance(thread, threading.Timer):
            thread.join(1)
    (argument,) = opened
    assert "secret" not in argument
    assert Path(url2pathname(urlsplit(argument).path)) == file
    assert f'url={ADDRESS}"' in file.read_text("utf-8")
    if os.name == "posix":
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
    browser.delete_file(file)
    assert not file.exists()
    browser.delete_file(file)


def test_no_browser_opens_if_the_file_cannot_be_written(
    home: Path, opened: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> Path:
        raise OSError

    monkeypatch.setattr(browser, "redirect_file", fail)
    assert browser.open_page(ADDRESS) is None
    assert opened == []


@pytest.mark.skipif(os.name == "nt", reason="a window can always open there")
def test_no_browser_opens_without_a_display(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    assert not browser.can_open_window()
    monkeypatch.setenv("DISPLAY", ":0")
    assert browser.can_open_window()
