"""Sittings gone through in a browser by keyboard: what their tests hold in common."""

from datetime import UTC, datetime

from playwright.sync_api import Page, expect

from drill.core.models import Attempt
from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.courses import Course
from tests.drill.typist import Typist
from tests.browser.page_states import LONG_MS, sounding
from tests.web.client import present


def begun(course: Course) -> str:
    """Begin a sitting in the record and confirm the caution; return its identity."""
    now = datetime.now(UTC)
    with Store(record_file()) as store:
        store.set_seen("hearing", now=now)
        return store.begin(
            course.plan, now=now, version="test", mode=course.mode, course=course.to_dict()
        )


def kept(identity: str) -> list[Attempt]:
    """Return what the record has of a sitting."""
    with Store(record_file()) as store:
        return list(store.attempts(identity))


def enter(page: Page, text: str = "") -> None:
    """Type a line and send it."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def focused(page: Page) -> str:
    """Return the id of the element that has the focus."""
    return str(page.evaluate("document.activeElement.id"))


def copied_through(page: Page, identity: str, typist: Typist, count: int) -> None:
    """Have the listener copy all items of a sitting that tells nothing; nothing may be told."""
    expect(page.locator("#copy")).to_be_focused()
    page.keyboard.press("Enter")
    for number in range(count):
        sounding(page, number + 1)
        assert focused(page) == "copy"
        item = present(identity)
        shown = page.get_by_role("main").inner_text()
        assert " ".join(item.message.fields[0].text) not in shown
        assert "right" not in shown.lower()
        enter(page, typist.types(item).lower())
    expect(page.get_by_role("heading", name="Result")).to_be_focused(timeout=LONG_MS)
