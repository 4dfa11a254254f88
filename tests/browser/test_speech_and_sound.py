"""When the page announces: never during an over, nor within 2.5 s before it.

A script notes the time of every change of the live region and of every sound. The rule is from the
project's design: a screen reader needs about that long for one short sentence.
"""

import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.base import SessionKind
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.kinds.quick_check import QuickCheck
from drill.session.settings import change_settings
from tests.browser.session_steps import (
    SHORT_PLAN,
    SOUND_COUNTER,
    begin_in_record,
    confirm_caution,
    enter,
    play,
    wait_until,
)
from tests.web.client import running_program

pytestmark = pytest.mark.usefixtures("home")
QUIET_BEFORE_MS = 2450
"""2.5 s less a tolerance for the browser's timers."""
TIMES = """
window.spoken = [], window.sounds = [];
document.addEventListener("sound", ({ detail }) => {
  sounds.push({ at: performance.now(), seconds: detail });
});
document.addEventListener("DOMContentLoaded", () => {
  new MutationObserver(() => {
    const text = document.getElementById("status").textContent;
    if (text) spoken.push({ at: performance.now(), text });
  }).observe(document.getElementById("status"), { childList: true, characterData: true,
    subtree: true });
});
"""


def open_with_screen_reader(page: Page, site: str, kind: SessionKind, path: str) -> str:
    """Open a session with the pause for screen readers, which is the default."""
    session = begin_in_record(kind)
    with Store(record_file()) as store:
        change_settings(store, {"speech_gap_s": 2.5})
    page.add_init_script(SOUND_COUNTER)
    page.add_init_script(TIMES)
    page.goto(f"{site}/{path}?session={session}")
    expect(page.locator("#answer-line")).to_be_focused()
    expect(page.locator("#answer-label")).to_have_text("Your answer: call")
    return session


def check_times(page: Page, *, sounds: int) -> list[str]:
    """Compare the times of announcements and sounds; return what was spoken."""
    spoken: list[dict[str, Any]] = page.evaluate("spoken")
    events: list[dict[str, Any]] = page.evaluate("sounds")
    playing = [
        (start["at"], end["at"])
        for start, end in pairwise([*events, {"at": 1e12, "seconds": 0}])
        if start["seconds"]
    ]
    assert len(playing) >= sounds
    for start, end in playing:
        for entry in spoken:
            assert not start - QUIET_BEFORE_MS < entry["at"] < end, (entry, start, end)
    return [entry["text"] for entry in spoken]


def test_practice_is_silent_before_and_while_an_over_sounds(page: Page, site: str) -> None:
    open_with_screen_reader(page, site, Practice(plan=SHORT_PLAN), "practise")
    play(page)
    enter(page, "i")  # the announcement waits until the over has ended
    enter(page, "q9abc")
    expect(page.locator("#verdict")).to_be_visible()
    wait_until(page, "spoken.length > 1")
    enter(page)  # announced at once; the next over waits for it
    expect(page.locator("#ear")).to_have_text("Soon")
    wait_until(page, "soundCount > 1")
    enter(page, ".")
    expect(page.locator("#verdict")).to_be_visible()
    enter(page, "n")
    wait_until(page, "soundCount > 2")
    spoken = check_times(page, sounds=3)
    assert spoken[1].startswith("Call: sent")  # the verdict first; the answer to "i" is outdated


def test_a_second_enter_starts_the_over_at_once(page: Page, site: str) -> None:
    open_with_screen_reader(page, site, Practice(plan=SHORT_PLAN), "practise")
    wait_until(page, "spoken.length > 0")
    enter(page)
    expect(page.locator("#ear")).to_have_text("Soon")
    enter(page)
    expect(page.locator("#ear")).to_have_text("Sounding")
    assert page.evaluate("sounds[0].at - spoken[0].at") < 60_000
    assert len(page.evaluate("spoken")) == 1


@pytest.mark.parametrize("kind", ["quick check", "measurement"])
def test_a_measurement_announces_only_the_number_of_the_item(
    page: Page, site: str, kind: str
) -> None:
    plan = Plan(seed=11, count=10, mix="unassigned", voices=("rivet",))
    if kind == "quick check":
        setup: SessionKind = QuickCheck(plan=plan)
    else:
        with Store(record_file()) as store:
            setup = Measurement.from_plan(plan, store)
    open_with_screen_reader(page, site, setup, "measure")
    sentence = page.locator("#session-description").inner_text()
    play(page)
    for number in (1, 2, 3):
        wait_until(page, f"endedSoundCount >= {number}")
        enter(page, "i")
        expect(page.get_by_role("status")).to_have_text(f"{number} of {setup.count}.")
        enter(page, "q9abc")  # the next call waits until the sentence is old enough
        wait_until(page, f"soundCount > {number}")
    spoken = check_times(page, sounds=4)
    assert spoken == [sentence, *(f"{number} of {setup.count}." for number in (1, 2, 3))]


def test_the_first_sound_takes_two_keys(browser: Browser, home: Path) -> None:
    """From the printed address of a program that never ran before: begin, confirm the caution."""
    context = browser.new_context()
    page = context.new_page()
    page.add_init_script(SOUND_COUNTER)
    page.add_init_script(TIMES)
    with running_program(home, "page", "--no-browser", "--port", "0") as (_, address):
        page.goto(address)
        expect(page.locator("#today-begin")).to_be_focused()
        page.keyboard.press("Enter")  # perhaps before the page knows what it offers
        expect(page.locator("#confirm-caution")).to_be_focused()
        expect(page.locator("#confirm-caution")).to_have_accessible_description(
            re.compile("Set the volume low now")
        )
        page.wait_for_timeout(500)  # a press before that may have been meant for the first page
        page.keyboard.press("Enter")
        wait_until(page, "soundCount > 0")
        check_times(page, sounds=1)
        expect(page.locator("#answer-line")).to_be_focused()
    context.close()


def test_comparing_by_ear_shows_that_a_sound_waits(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        confirm_caution(store)
        change_settings(store, {"speech_gap_s": 2.5})
    page.add_init_script(SOUND_COUNTER)
    page.add_init_script(TIMES)
    page.goto(f"{site}/listen")
    page.get_by_text("More options").click()
    page.locator("#voices").select_option("rivet")
    page.get_by_role("button", name="Play as chosen").click()
    wait_until(page, "endedSoundCount > 0 && spoken.length > 0")
    page.locator("#play-without").click()
    expect(page.locator("#soon")).to_be_visible()
    page.get_by_role("button", name="Stop the sound").click()
    expect(page.locator("#soon")).to_be_hidden()
    page.locator("#play-without").click()
    wait_until(page, "soundCount > 1")
    check_times(page, sounds=2)
