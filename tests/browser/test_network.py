"""Nothing leaves the machine: all requests of every page and of a session go to the server."""

from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, expect

from tests.browser.network import foreign_urls, record_requests
from tests.browser.page_states import PAGES
from tests.browser.session_steps import (
    WRONG,
    begin_practice,
    enter,
    open_session,
    play,
    wait_for_sounds,
)


def test_request_to_another_server_is_noticed(page: Page) -> None:
    """A page without our content security policy loads a picture from another server."""
    urls = record_requests(page.context)
    page.route("**/*", lambda route: route.fulfill(status=204))
    page.goto("about:blank")
    page.set_content("<img src='http://elsewhere.invalid/a.png'>")
    page.wait_for_timeout(100)
    assert foreign_urls(urls, "http://127.0.0.1:1") == ["http://elsewhere.invalid/a.png"]


@pytest.mark.slow
@pytest.mark.usefixtures("home")
def test_pages_and_a_whole_session_request_only_the_server(page: Page, site: str) -> None:
    urls = record_requests(page.context)
    for name in PAGES:
        page.goto(f"{site}/{name}")
        page.wait_for_load_state("networkidle")
    session = begin_practice()
    open_session(page, site, f"practise?session={session}")
    for number in range(2):
        play(page, 2 * number + 1)
        enter(page, WRONG)
        expect(page.locator("#verdict")).to_be_visible()
        enter(page, "c")
        wait_for_sounds(page, 2 * number + 2)
    enter(page)
    expect(page.locator("#result")).to_be_visible()
    page.wait_for_load_state("networkidle")
    assert foreign_urls(urls, site) == []
    paths = {urlsplit(url).path for url in urls}
    items = f"/api/sessions/{session}/items"
    assert {f"{items}/{number}/noise.wav" for number in (0, 1)} <= paths
    assert f"{items}/0/clean.wav" in paths
    assert {"/static/base.css", "/static/player.js", "/api/report"} <= paths
