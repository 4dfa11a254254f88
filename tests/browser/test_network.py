"""Nothing leaves the machine: every request of every page, and of a drill, is to the server."""

import re
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from hatchling.builders.wheel import WheelBuilder
from playwright.sync_api import BrowserContext, Page, Request, expect

from tests.browser.page_states import COUNTED, PAGES, begin, sounding

ROOT = Path(__file__).parents[2]
WEB = ROOT / "drill" / "web"


def watched(context: BrowserContext) -> list[str]:
    """Return the list in which every address is kept that the browser asks for."""
    asked: list[str] = []

    def keep(request: Request) -> None:
        asked.append(request.url)

    context.on("request", keep)
    return asked


def strangers(asked: list[str], site: str) -> list[str]:
    """Return the addresses that are not the server's, and not part of a page itself."""
    own = urlsplit(site)
    return [
        url
        for url in asked
        if (at := urlsplit(url)).scheme not in ("data", "blob")
        and (at.scheme, at.netloc) != (own.scheme, own.netloc)
    ]


def test_a_request_to_elsewhere_is_noticed(page: Page) -> None:
    """The check can fail: a page without our policy asks for a picture of another server."""
    asked = watched(page.context)
    page.route("**/*", lambda route: route.fulfill(status=204))
    page.goto("about:blank")
    page.set_content("<img src='http://elsewhere.invalid/a.png'>")
    page.wait_for_timeout(100)
    assert strangers(asked, "http://127.0.0.1:1") == ["http://elsewhere.invalid/a.png"]


@pytest.mark.slow
@pytest.mark.usefixtures("home")
def test_every_page_and_a_whole_drill_ask_the_server_alone(page: Page, site: str) -> None:
    asked = watched(page.context)
    for name in PAGES:
        page.goto(f"{site}/{name}")
        page.wait_for_load_state("networkidle")
    identity = begin()
    page.add_init_script(COUNTED)
    page.goto(f"{site}/practise?go={identity}")
    line = page.locator("#copy")
    expect(line).to_be_focused()
    for number in range(2):
        page.keyboard.press("Enter")  # hear it
        sounding(page, 2 * number + 1)
        page.keyboard.type("q9abc")
        page.keyboard.press("Enter")
        expect(page.locator("#verdict")).to_be_visible()
        page.keyboard.type("c")
        page.keyboard.press("Enter")  # clean
        sounding(page, 2 * number + 2)
    page.keyboard.press("Enter")
    expect(page.locator("#result")).to_be_visible()
    page.wait_for_load_state("networkidle")
    assert strangers(asked, site) == []
    paths = {urlsplit(url).path for url in asked}
    assert {f"/api/sittings/{identity}/items/{number}/noise.wav" for number in (0, 1)} <= paths
    assert f"/api/sittings/{identity}/items/0/clean.wav" in paths
    assert {"/static/page.css", "/static/sound.js", "/api/report"} <= paths


def test_the_wheel_holds_every_page_script_style_and_typeface() -> None:
    held = {one.distribution_path for one in WheelBuilder(str(ROOT)).recurse_included_files()}
    here = {
        path.relative_to(ROOT).as_posix()
        for folder in ("templates", "static")
        for path in (WEB / folder).iterdir()
    }
    assert len(here) > 30
    assert here <= held


def test_the_files_themselves_name_no_other_place() -> None:
    """Addresses in pages, scripts and styles are our own, but for the names of namespaces."""
    known = re.compile(r"http://www\.w3\.org/")
    for folder in ("templates", "static"):
        for path in (WEB / folder).iterdir():
            if path.suffix in (".html", ".js", ".css", ".svg"):
                text = known.sub("", path.read_text("utf-8"))
                found = re.findall(r"""(?:https?:)?//[\w.-]+\.\w+[^\s"'`)]*""", text)
                assert not found, (path.name, found)
