"""The program is killed and started again; one session in two windows."""

import signal
import sys
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

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


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGKILL")
def test_answer_typed_while_the_program_is_down_is_kept_after_a_restart(
    browser: Browser, home: Path
) -> None:
    session = begin_practice()
    context = browser.new_context()
    page = context.new_page()
    page.add_init_script(SOUND_COUNTER)
    with running_program(home, "page", "--no-browser", "--port", "0") as (process, address):
        page.goto(address)
        page.goto(f"{address.split('?')[0]}practise?session={session}")
        expect(page.locator("#answer-line")).to_be_focused()
        play(page)
        process.send_signal(signal.SIGKILL)
        process.wait()
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
    expect(page.get_by_role("heading", name="Result")).to_be_focused()
    assert [attempt.answer.typed for attempt in stored_attempts(session)] == ["e8aaa", ""]
