"""Every page: the first control of the content is at most three Tab presses from the start."""

import pytest
from playwright.sync_api import Page

from drill.core.paths import record_file
from drill.records.store import Store
from drill.web.pages import PAGES
from tests.browser.session_steps import confirm_caution
from tests.web.sample_record import fill_record

pytestmark = pytest.mark.usefixtures("home")
MOST_TABS = 3
IN_MAIN = "document.getElementById('main').contains(document.activeElement)"
FOCUSED = """(document.activeElement !== document.body)
  && !document.activeElement.matches('h1, h2, main')"""


@pytest.mark.parametrize("filled", [False, True], ids=["empty", "filled"])
def test_the_first_control_is_near(page: Page, site: str, filled: bool) -> None:
    if filled:
        fill_record()
    with Store(record_file()) as store:
        confirm_caution(store)
    for path in PAGES:
        page.goto(f"{site}{path}")
        page.wait_for_load_state("networkidle")
        tabs = 0
        while not page.evaluate(f"{FOCUSED} && {IN_MAIN}"):
            page.keyboard.press("Tab")
            tabs += 1
            assert tabs <= MOST_TABS, path
