"""Contacts in the browser: by keyboard and microphone, after a kill; announcements and sound."""

import signal
import sys
from contextlib import ExitStack
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, Route, expect

from drill import voices
from drill.contact.acts import CALL, NOTE, VOICE
from drill.contact.sessions import ContactSession, recorded_setup
from drill.core.audio_files import write_audio
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.records.store import Store
from drill.voices.operators import find_operator
from tests.browser.accessibility import violations
from tests.browser.conftest import CHROMIUM_ARGUMENTS, logged_in_page
from tests.browser.contact_steps import (
    OWN,
    SPEECH_LOG,
    begin_contacts,
    listen,
    make_contact,
    open_contact,
    send,
    sounds_ended,
)
from tests.browser.session_steps import confirm_caution, enter, focused_id, wait_until
from tests.web.client import running_program

pytestmark = pytest.mark.usefixtures("home")
QUIET_BEFORE_SOUND_MS = 2450
"""Nothing is announced in the 2.5 s before a sound, less a tolerance for the browser's timers."""


def first_station_says(session: str) -> str:
    """Return what a perfect trainee notes at the first station."""
    with Store(record_file()) as store:
        speaker = recorded_setup(store, session).station(0).speaker
    return " ".join([speaker.call, *(field.text for field in speaker.fields)])


def recorded_acts(session: str, number: int = 0) -> list[tuple[str, str]]:
    """Return kind and text of the recorded acts of a contact."""
    with Store(record_file()) as store:
        events = store.contact_events(session, number)
    return [(e.data["kind"], e.data["text"]) for e in events if e.kind == "act"]


def check_nothing_is_spoken_over_sound(page: Page) -> None:
    """Compare the times of announcements with those of sounds."""
    spoken: list[dict[str, Any]] = page.evaluate("spoken")
    sounds: list[dict[str, Any]] = page.evaluate("sounds")
    assert spoken
    playing = [(a["at"], b["at"]) for a, b in pairwise([*sounds, {"at": 1e12}]) if a.get("seconds")]
    for start, end in playing:
        for entry in spoken:
            quiet = start - QUIET_BEFORE_SOUND_MS
            assert not quiet < entry["at"] < end, (entry, start, end)


def test_whole_contact_by_keyboard(page: Page, site: str) -> None:
    session = begin_contacts()
    open_contact(page, site, session)
    make_contact(page, first_station_says(session).lower())
    expect(page.locator("#title")).to_have_text("Right in both logs.")
    assert focused_id(page) == "line"  # the focus has not moved since the page opened
    assert violations(page) == []
    check_nothing_is_spoken_over_sound(page)
    count = page.evaluate("sounds.length")
    for key in ("n", "2", "2c"):
        enter(page, key)
        wait_until(page, f"sounds.length > {count}")
        count = page.evaluate("sounds.length")
    enter(page, "d")
    expect(page.get_by_role("status")).to_contain_text("In your log: worked X 6 1 C C W")
    expect(page.get_by_role("status")).to_contain_text("They made out: E87ABC")
    enter(page)
    expect(page.locator("#title")).to_have_text("Station 2 of 2")
    enter(page, ".")
    expect(page.locator("#title")).to_have_text("You left, so the contact is in neither log.")
    enter(page)
    expect(page.locator("#title")).to_have_text("1 of 2 right in both logs.")
    expect(page.get_by_role("table", name="Contacts by power")).to_contain_text("too few")
    page.get_by_role("button", name="1, 5 W: Right in both logs.").press("Enter")
    expect(page.locator("#title")).to_have_text("Right in both logs.")
    enter(page)
    expect(page.locator("#more")).to_be_focused()
    page.get_by_role("button", name="Delete this session").click()
    page.get_by_role("button", name="Delete it with its answers, for good").click()
    expect(page.locator("#begin")).to_be_focused()
    assert recorded_acts(session) == []


def test_session_begins_from_the_form_with_two_keys(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        confirm_caution(store)
    page.add_init_script(SPEECH_LOG)
    page.goto(f"{site}/contact")
    expect(page.locator("#begin")).to_be_focused()
    expect(page.locator("#own-station-text")).to_contain_text("E87ABC, a call that no")
    page.keyboard.press("Enter")
    wait_until(page, "sounds.length > 0")
    expect(page.locator("#line")).to_be_focused()
    enter(page, "e8")
    expect(page.locator("#score")).to_contain_text("you noted E8")
    page.goto(f"{site}/contact")
    expect(page.locator("#begin-text")).to_have_text("Listen for station 1")
    expect(page.get_by_role("heading", name="Sessions")).to_be_visible()


def test_nothing_can_be_entered_while_the_logs_are_compared(page: Page, site: str) -> None:
    open_contact(page, site, begin_contacts())
    listen(page)
    enter(page, "x61ccw")
    expect(page.locator("#will")).to_contain_text("X61CCW")
    waiting: list[Route] = []

    def hold(route: Route) -> None:
        waiting.append(route)

    page.route("**/acts", hold)
    enter(page, "l")
    expect(page.locator("#will")).to_have_text("The logs are being compared.")
    expect(page.locator("#go-text")).to_have_text("Wait")
    enter(page, "x")
    assert len(waiting) == 1
    waiting[0].continue_()
    expect(page.locator("#title")).to_have_text("You are not in their log.")
    expect(page.locator("#line")).to_have_value("")
    expect(page.locator("#told")).to_contain_text("You have no exchange.")
    assert "Unknown key" not in page.get_by_role("status").inner_text()


def test_the_row_of_overs_begins_with_a_whole_entry(page: Page, site: str) -> None:
    page.set_viewport_size({"width": 1280, "height": 800})
    open_contact(page, site, begin_contacts())
    listen(page)
    for _ in range(8):
        send(page, "m")
    row = page.locator("#score")
    assert row.evaluate("e => e.scrollLeft") > 0
    left = row.evaluate(
        "e => [...e.children].map(c => c.getBoundingClientRect().left "
        "- e.getBoundingClientRect().left)"
    )
    assert min(abs(place) for place in left) < 2
    words = page.locator("#score .mine .words > b")
    assert max(words.evaluate_all("all => all.map(e => e.getClientRects().length)")) <= 1
    assert max(words.evaluate_all("all => all.map(e => e.offsetHeight)")) < 100
    assert words.last.inner_text() == "“echo eight seven alfa bravo charlie”"


def test_letters_act_and_are_never_noted(page: Page, site: str) -> None:
    session = begin_contacts()
    open_contact(page, site, session)
    listen(page)
    for line in ("", "  "):
        enter(page, line)
    enter(page, "q")
    expect(page.get_by_role("status")).to_have_text("Unknown key q. i shows where you are.")
    enter(page, "=a")
    enter(page, "j9 4y")
    expect(page.locator("#will")).to_have_text("Your log line no call J9 4Y")
    page.keyboard.type("m")
    expect(page.locator("#will")).to_have_text("You will say “echo eight seven alfa bravo charlie”")
    page.keyboard.press("Backspace")
    assert recorded_acts(session) == [(NOTE, "a"), (NOTE, "j9 4y")]
    page.get_by_role("button", name="my whole call").press("Enter")
    expect(page.locator("body")).to_have_class("in-drill sending")
    expect(page.locator("#ear")).to_have_text("You send. You hear nothing.")
    enter(page, "while sending")
    enter(page, ".")  # breaks the over off
    expect(page.locator("body")).to_have_class("in-drill")
    expect(page.locator("#score")).to_contain_text("WHILE SENDING")
    assert [kind for kind, _ in recorded_acts(session)][2:] == [CALL, NOTE, "break-off"]


def test_contact_fits_above_a_phones_keyboard_without_scrolling(page: Page, site: str) -> None:
    page.set_viewport_size({"width": 360, "height": 380})
    open_contact(page, site, begin_contacts())
    listen(page)
    enter(page, "x61")
    expect(page.locator("#will")).to_contain_text("X61")
    fits = "document.documentElement.scrollHeight <= innerHeight"
    assert page.evaluate(fits)
    enter(page, "m")
    expect(page.locator("#will")).to_contain_text("You hear nothing for")
    assert page.evaluate(fits)
    sounds_ended(page, 2)
    assert page.evaluate(fits)
    page.keyboard.type("p")
    expect(page.locator("#will")).to_contain_text("You will say")
    assert page.evaluate(fits)


def test_nothing_is_announced_while_a_sound_plays(page: Page, site: str) -> None:
    session = begin_contacts()
    open_contact(page, site, session)
    enter(page)
    wait_until(page, "sounds.length > 0")
    # Pressed while a sound plays: the page answers in the next pause and stops the clock for it.
    enter(page, "i")
    enter(page, "q")
    sounds_ended(page, 1)
    expect(page.get_by_role("status")).to_contain_text("Unknown key q")
    enter(page, "i")
    expect(page.get_by_role("status")).to_contain_text("Station 1 of 2, 5 W, 0:0")
    page.wait_for_timeout(3000)
    page.keyboard.type("m")  # typing starts the clock again
    page.keyboard.press("Backspace")
    wait_until(page, "sounds.length > 2")
    sounds_ended(page, 2)
    check_nothing_is_spoken_over_sound(page)


def test_an_act_before_the_first_sound_starts_the_clock(page: Page, site: str) -> None:
    session = begin_contacts()
    open_contact(page, site, session)
    enter(page)
    enter(page, "m")
    expect(page.locator("body")).to_have_class("in-drill sending")
    expect(page.locator("body")).to_have_class("in-drill")
    sounds_ended(page, 1)
    assert [kind for kind, _ in recorded_acts(session)] == [CALL]


def test_contact_continues_after_a_reload(page: Page, site: str) -> None:
    session = begin_contacts()
    open_contact(page, site, session)
    listen(page)
    enter(page, "x61?")
    send(page, "m")
    page.reload()
    expect(page.locator("#title")).to_have_text("Station 1 of 2")
    expect(page.locator("#score")).to_contain_text("you noted X61?")
    listen(page)
    send(page, "x")
    assert [kind for kind, _ in recorded_acts(session)] == [NOTE, CALL, "exchange"]


def test_two_windows_take_the_session_from_each_other(page: Page, site: str) -> None:
    session = begin_contacts()
    open_contact(page, site, session)
    listen(page)
    other = page.context.new_page()
    open_contact(other, site, session)
    enter(page, "m")
    expect(page.get_by_role("status")).to_contain_text("open in another window")
    assert recorded_acts(session) == []
    listen(other)
    send(other, "m")
    page.bring_to_front()
    enter(page)  # takes the session back
    wait_until(page, "sounds.filter((s) => s.seconds).length > 1")
    expect(page.locator("#score")).to_contain_text("echo eight seven alfa bravo charlie")
    expect(other.get_by_role("status")).to_contain_text("open in another window")


def test_a_sound_that_the_program_no_longer_has_is_rendered_again(page: Page, site: str) -> None:
    session = begin_contacts()
    open_contact(page, site, session)
    listen(page)
    lost: list[str] = []

    def lose_one(route: Route) -> None:
        """Answer like a program that was restarted after it had announced the sound."""
        if lost:
            route.continue_()
            return
        lost.append(route.request.url)
        route.fulfill(status=404, json={"error": "this sound is no longer available"})

    page.route("**/api/sounds/*", lose_one)
    send(page, "m")
    sounds_ended(page, 2)
    assert len(lost) == 1
    enter(page, "x61ccw")
    expect(page.locator("#score")).to_contain_text("X61CCW")


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGKILL")
def test_killed_program_continues_in_the_middle_of_a_contact(browser: Browser, home: Path) -> None:
    session = begin_contacts()
    context = browser.new_context()
    page = context.new_page()
    with running_program(home, "page", "--no-browser", "--port", "0") as (process, address):
        page.goto(address)
        open_contact(page, address.split("/?")[0], session)
        listen(page)
        send(page, "m")
        process.send_signal(signal.SIGKILL)
        process.wait()
    enter(page, "x61ccw")
    expect(page.get_by_text("faintcall is not responding.").first).to_be_visible()
    port = address.split("/")[2].partition(":")[2]
    with running_program(home, "page", "--no-browser", "--port", port):
        expect(page.locator("#score")).to_contain_text("X61CCW")
        sounds_ended(page, 2)  # the answer to the call before the kill
        send(page, "x")
        sounds_ended(page, 3)
        enter(page, "59 002")
        enter(page, "l")
        expect(page.locator("#told-part")).to_be_visible()
        context.close()
    assert [kind for kind, _ in recorded_acts(session)] == [CALL, NOTE, "exchange", NOTE, "log"]


def write_spoken_call(path: Path) -> Path:
    """Write the own call with background noise before and after it."""
    with Store(record_file()) as store:
        session = ContactSession.resume(store)
    words = session.contact.saying(CALL).words
    clip = voices.speak(words, find_operator("wren"), 0)
    rate_hz = 48_000
    times = np.arange(0, clip.seconds, 1 / rate_hz)
    speech = np.interp(times, np.arange(len(clip.samples)) / clip.rate_hz, clip.samples)
    samples = np.random.default_rng(1).normal(0, 10**-3.2, 6 * rate_hz + len(speech))
    samples[rate_hz:][: len(speech)] += speech
    write_audio(path, Clip(samples=samples.astype(np.float32), rate_hz=rate_hz))
    return path


def test_the_own_voice_gets_through_by_microphone(
    browser: Browser, chromium: str, site: str, tmp_path: Path
) -> None:
    session = begin_contacts(own=replace(OWN, ears="recogniser"))
    with Store(record_file()) as store:  # a session without events cannot be resumed
        store.set_setting("own-call", "E87ABC")
    recording = tmp_path / "microphone.wav"
    arguments = [
        *CHROMIUM_ARGUMENTS,
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-audio-capture={recording}%noloop",
    ]
    with ExitStack() as stack:
        own_browser = browser.browser_type.launch(executable_path=chromium, args=arguments)
        stack.callback(own_browser.close)
        page = stack.enter_context(logged_in_page(own_browser, site))
        open_contact(page, site, session)
        listen(page)
        enter(page, "note")
        expect(page.locator("#score")).to_contain_text("NOTE")
        write_spoken_call(recording)
        enter(page, "v")
        expect(page.locator("#will")).to_have_text("You send. Speak now; Enter ends it.")
        assert violations(page) == []
        expect(page.locator("#score")).to_contain_text("echo eight seven")
        sounds_ended(page, 2)
        enter(page, "i")
        expect(page.get_by_role("status")).to_contain_text("by microphone: Level")
        send(page, "x")  # continue by keyboard
        sounds_ended(page, 3)
        enter(page, "l")
        expect(page.locator("#overs")).to_contain_text("They made out: E87ABC")
        check_nothing_is_spoken_over_sound(page)
    kinds = [kind for kind, _ in recorded_acts(session)]
    assert kinds == [NOTE, VOICE, "exchange", "log"]
    assert "echo" in dict(recorded_acts(session))[VOICE]
