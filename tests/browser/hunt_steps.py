"""Steps of a hunt in the browser, by keyboard, and a hunt for them."""

from dataclasses import replace
from datetime import UTC, datetime

from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.hunt.acts import MARK, TUNE, HuntAct
from drill.hunt.sessions import HuntSession
from drill.records.store import Store
from tests.browser.session_steps import confirm_caution
from tests.drill.hunt.sounding import ten_minutes


def begin_hunt() -> str:
    """Begin a hunt in the record, with a line on the pad and a mark; return its identity."""
    with Store(record_file()) as store:
        confirm_caution(store)
        session = HuntSession.begin(ten_minutes(), store, now=datetime.now(UTC))
        hz = session.live.dial_hz
        for act in (
            HuntAct(at=0, kind="note", text="OH2QRK 081"),
            HuntAct(at=0, kind="log"),
            HuntAct(at=0, kind=TUNE, hz=hz + 12_300),
            HuntAct(at=0, kind=MARK, text="two calling"),
            HuntAct(at=0, kind="note", text="LY5QSF"),
        ):
            session.act(replace(act, at=session.live.now))
        return session.identity


def wait_for_hunt(page: Page) -> None:
    """Wait until the hunt's state is shown; its clock is stopped."""
    expect(page.locator("#line")).to_be_focused()
    expect(page.locator("#frequency")).to_have_text("14\u00a0237.3")
    expect(page.locator("#go-text")).to_have_text("Start")


def run_clock(page: Page) -> None:
    """Start the clock and wait until sound has come."""
    wait_for_hunt(page)
    page.keyboard.press("Enter")
    expect(page.locator("#ear")).to_have_text("Your ear is open")
    expect(page.locator("#level")).not_to_have_attribute("aria-valuenow", "0")


def type_command(page: Page) -> None:
    """Type a letter that sends an over; nothing happens before Enter."""
    wait_for_hunt(page)
    page.keyboard.type("m")
    expect(page.locator("#will")).to_contain_text("You will say")


def type_known_call(page: Page) -> None:
    """Type a call that is on the pad."""
    wait_for_hunt(page)
    page.keyboard.type("oh2qrk")
    expect(page.locator(".known")).to_contain_text("you have it")
    expect(page.locator("#status")).to_have_text("You have it, no. 1.")
