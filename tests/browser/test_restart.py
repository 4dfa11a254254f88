"""In a real browser: the program is killed and started again; one sitting in two windows."""

import signal
import sys
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.session_steps import enter, focused, kept
from tests.browser.page_states import COUNTED, LONG_MS, begin, sounding
from tests.web.client import program


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL there")
def test_a_line_typed_when_the_program_is_gone_is_kept_when_it_is_back(
    browser: Browser, home: Path
) -> None:
    identity = begin()
    context = browser.new_context()
    page = context.new_page()
    page.add_init_script(COUNTED)
    with program(home, "page", "--no-browser", "--port", "0") as (process, address):
        page.goto(address)
        page.goto(f"{address.split('?')[0]}practise?go={identity}")
        expect(page.locator("#copy")).to_be_focused(timeout=LONG_MS)
        enter(page)
        sounding(page, 1)
        process.send_signal(signal.SIGKILL)
        process.wait()
    enter(page, "q9abc")
    expect(page.get_by_text("The program does not answer.").first).to_be_visible()
    assert focused(page) == "copy"
    assert kept(identity) == []
    port = address.split("/")[2].partition(":")[2]
    with program(home, "page", "--no-browser", "--port", port):
        expect(page.locator("#verdict")).to_contain_text("Not right", timeout=LONG_MS)
        expect(page.locator("#lost")).to_be_hidden()
        assert [one.answer.text for one in kept(identity)] == ["q9abc"]
        enter(page)
        sounding(page, 2)
        assert focused(page) == "copy"
        context.close()


def test_the_second_window_goes_on_where_the_first_is(page: Page, site: str, home: Path) -> None:
    identity = begin()
    other = page.context.new_page()
    for one in (page, other):
        one.add_init_script(COUNTED)
        one.goto(f"{site}/practise?go={identity}")
        expect(one.locator("#copy")).to_be_focused()
        enter(one)
        sounding(one, 1)
    enter(page, "e8aaa")
    expect(page.locator("#verdict")).to_be_visible()
    enter(other, "e8bbb")
    status = other.get_by_role("status")
    expect(status).to_contain_text("Item 1 has its answer in the record already.", timeout=LONG_MS)
    expect(other.get_by_role("heading", name="Item 2 of 2")).to_be_visible()
    assert focused(other) == "copy"
    enter(other)
    sounding(other, 2)
    enter(other, ".")
    expect(other.locator("#verdict")).to_contain_text("Given up")
    # The first window has item 2 at hand and plays it, but cannot answer it again.
    enter(page)
    sounding(page, 2)
    enter(page, "e8ccc")
    expect(page.get_by_role("heading", name="Result")).to_be_focused(timeout=LONG_MS)
    assert [one.answer.text for one in kept(identity)] == ["e8aaa", ""]
