"""Steps of a contact in the browser, by keyboard, and a session for them."""

from datetime import UTC, datetime

from playwright.sync_api import Page, expect

from drill.contact.sessions import ContactSession
from drill.contact.setup import ContactOptions, create_setup
from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.options import SessionOptions
from tests.browser.session_steps import SOUND_COUNTER, confirm_caution, enter, wait_until

OPTIONS = SessionOptions(
    count=2, seed=22, mix="unassigned", voices=("rivet",), path_snr_db=30.0, conditions="plain"
)
"""Signals are strong, so that the scripted steps make a contact; the first station calls at
once."""
OWN = ContactOptions(call="E87ABC", voice="rivet", ears="model")
SPEECH_LOG = """
window.spoken = [];
window.sounds = [];
document.addEventListener("sound", (event) => {
  sounds.push({at: performance.now(), seconds: event.detail});
});
addEventListener("DOMContentLoaded", () => {
  const region = document.querySelector("[role=status]");
  new MutationObserver(() => {
    if (region.textContent) spoken.push({at: performance.now(), text: region.textContent});
  }).observe(region, {childList: true, characterData: true, subtree: true});
});
"""
"""Script that stores the times of sounds (start and end) and of the page's announcements."""


def begin_contacts(options: SessionOptions = OPTIONS, own: ContactOptions = OWN) -> str:
    """Begin a session of contacts in the record; return its identity."""
    with Store(record_file()) as store:
        confirm_caution(store)
        session = ContactSession.begin(create_setup(options, own), store, now=datetime.now(UTC))
        return session.identity


def open_contact(page: Page, site: str, session: str) -> None:
    """Open the page of a session; its clock does not run yet."""
    for script in (SOUND_COUNTER, SPEECH_LOG):
        page.add_init_script(script)
    page.goto(f"{site}/contact?session={session}")
    expect(page.locator("#line")).to_be_focused()
    expect(page.locator("#go-text")).to_have_text("Listen")


def sounds_ended(page: Page, count: int) -> None:
    """Wait until this many sounds have ended and none plays."""
    wait_until(page, f"endedSoundCount >= {count} && endedSoundCount === soundCount")


def listen(page: Page) -> None:
    """Start the clock and wait until the first sound has ended."""
    enter(page)
    sounds_ended(page, 1)


def send(page: Page, letter: str) -> None:
    """Start an over with a command letter and wait until it has been sent."""
    enter(page, letter)
    expect(page.locator("body")).to_have_class("in-drill sending")
    expect(page.locator("body")).to_have_class("in-drill")


def make_contact(page: Page, note: str) -> None:
    """Make a whole contact: call, answer, note the call and log it."""
    listen(page)
    send(page, "m")
    sounds_ended(page, 2)
    send(page, "x")
    sounds_ended(page, 3)
    enter(page, note)
    expect(page.locator("#will")).to_contain_text("Your log line")
    enter(page, "l")
    expect(page.locator("#told-part")).to_be_visible()
