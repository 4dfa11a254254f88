"""A hunt in the browser, by keyboard alone: sound, dial, acts, and stopping the clock."""

import re
import signal
import sys
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from drill.core.paths import record_file
from drill.hunt.sessions import HuntSession
from drill.records.store import Store
from tests.browser.hunt_steps import begin_hunt, run_clock, wait_for_hunt
from tests.browser.session_steps import enter
from tests.drill.hunt.sounding import NoiseSpeech
from tests.web.client import running_program

pytestmark = pytest.mark.usefixtures("home")
LATE_OUTPUT = """
const {suspend} = AudioContext.prototype;
AudioContext.prototype.suspend = async function () {
  window.output = this;
  await new Promise((resolve) => { setTimeout(resolve, 400); });
  return suspend.call(this);
};
"""
"""Script that makes the audio output stop late, as on a busy computer."""
SPOKEN = """
window.spoken = [];
addEventListener("DOMContentLoaded", () => {
  const region = document.querySelector("[role=status]");
  new MutationObserver(() => {
    if (region.textContent) spoken.push(region.textContent);
  }).observe(region, {childList: true, characterData: true, subtree: true});
});
"""
"""Script that stores everything that the page announces."""


@pytest.fixture
def hunt(page: Page, site: str) -> str:
    """Open the page of a hunt; return the hunt's identity."""
    identity = begin_hunt()
    page.add_init_script(SPOKEN)
    page.goto(f"{site}/hunt?session={identity}")
    return identity


def recorded_acts(identity: str) -> list[tuple[str, str]]:
    with Store(record_file()) as store:
        live = HuntSession.load(store, identity, speech=NoiseSpeech()).live
    return [(act.kind, act.text) for act in live.acts[5:]]


def test_arrows_turn_the_dial_and_leave_the_line_alone(page: Page, hunt: str) -> None:
    run_clock(page)
    page.keyboard.type("oh2")
    for key in ("ArrowUp", "ArrowUp", "Shift+ArrowDown"):
        page.keyboard.press(key)
    expect(page.locator("#frequency")).to_have_text("14\u00a0237.49")
    expect(page.locator("#line")).to_have_value("oh2")
    page.locator("#line").fill("")
    enter(page, "down 2.5")
    expect(page.locator("#frequency")).to_have_text("14\u00a0234.99")
    enter(page, "to 7085")
    expect(page.locator("#status")).to_contain_text("7 085.0 kHz is not on a band")
    page.keyboard.type("x")  # typing ends the announcement, and the clock runs on
    expect(page.locator("#ear")).to_have_text("Your ear is open")


def test_letters_send_overs_note_mark_and_log(page: Page, hunt: str) -> None:
    run_clock(page)
    enter(page, "081")
    expect(page.locator("#will")).to_contain_text("LY5QSF 081")
    enter(page, "m")
    expect(page.locator("body")).to_have_class("in-drill sending")
    expect(page.locator("#will")).to_contain_text("You hear nothing for")
    enter(page, ".")
    expect(page.locator("body")).to_have_class("in-drill")
    enter(page, "l")
    expect(page.locator("#pad li").first).to_contain_text("LY5QSF")
    enter(page, "r1 EA3QRK")
    expect(page.locator("#pad li").last).to_contain_text("EA3QRK")
    enter(page, "k strong")
    expect(page.locator("#dial")).to_contain_text("strong")
    kinds = [("note", "081"), ("call", ""), ("break-off", ""), ("log", ""), ("mend", "EA3QRK")]
    assert recorded_acts(hunt) == [*kinds, ("mark", "strong")]


def test_the_clock_is_held_on_request_and_the_hunt_goes_on(page: Page, hunt: str) -> None:
    run_clock(page)
    enter(page, "s")
    expect(page.locator("#will")).to_contain_text("The clock is stopped")
    enter(page, "k later")
    expect(page.locator("#dial")).to_contain_text("later")
    page.reload()
    expect(page.locator("#dial")).to_contain_text("later")
    page.keyboard.press("Enter")
    expect(page.locator("#ear")).to_have_text("Your ear is open")
    enter(page, "i")
    expect(page.locator("#status")).to_contain_text("You are at 14\u00a0237.3 kHz. Level: ")
    assert "Your ear is open." in page.evaluate("spoken.at(-1)")
    expect(page.locator("#ear")).to_have_text("The clock is stopped")


def expect_passing_time(page: Page) -> None:
    """Turn the dial, and wait until that is heard."""
    level = page.locator("#level")
    before = level.get_attribute("aria-valuenow")
    page.keyboard.press("ArrowUp")
    expect(page.locator("#hunt")).to_have_attribute("data-tuned-ms", re.compile("[0-9]+"))
    expect(level).not_to_have_attribute("aria-valuenow", before or "")


def test_a_hunt_that_was_left_goes_on_although_the_output_stops_late(page: Page, hunt: str) -> None:
    page.add_init_script(LATE_OUTPUT)
    page.reload()
    run_clock(page)
    enter(page, "s")
    enter(page, "s")
    expect(page.locator("#begin-text")).to_have_text("Continue the hunt")
    page.keyboard.press("Enter")
    expect(page.locator("#ear")).to_have_text("Your ear is open")
    page.wait_for_timeout(600)  # until the late stop has taken effect
    expect_passing_time(page)


def test_a_hunt_without_sound_stops_its_clock_and_says_so(page: Page, hunt: str) -> None:
    page.add_init_script(LATE_OUTPUT)
    page.reload()
    run_clock(page)
    enter(page, "i")  # stops and resumes the output
    page.keyboard.type("oh")
    expect(page.locator("#ear")).to_have_text("Your ear is open")
    page.locator("#line").fill("")
    page.evaluate("AudioContext.prototype.resume = async () => {}; window.output.suspend()")
    expect(page.locator("#status")).to_contain_text("No sound comes", timeout=15_000)
    expect(page.locator("#will")).to_have_text("The clock is stopped. Enter starts it.")


def test_a_stopped_hunt_says_so_and_can_be_ended(page: Page, hunt: str) -> None:
    run_clock(page)
    expect(page.locator("#pages-link")).to_be_hidden()
    enter(page, "s")
    expect(page.locator("#acts")).to_have_text(
        re.compile("end the hunt and compare the logs.*where am I.*leave; all is saved")
    )
    expect(page.locator("#pages-link")).to_contain_text("all pages")
    enter(page, "i")
    expect(page.locator("#status")).to_contain_text("The clock is stopped. Enter starts it.")
    assert "Your ear is open" not in page.evaluate("spoken.at(-1)")
    enter(page, ".")
    page.wait_for_url(f"**/hunt-end?hunt={hunt}")
    expect(page.locator("#lead")).to_contain_text("with 5 W. Not counted: 1 not in their log")


def test_an_unfinished_hunt_can_be_ended_on_its_form(page: Page, hunt: str, site: str) -> None:
    page.goto(f"{site}/hunt")
    expect(page.locator("#earlier-list")).to_contain_text("not finished: continue or end it")
    page.get_by_role("button", name="End the hunt and compare the logs").click()
    page.wait_for_url(f"**/hunt-end?hunt={hunt}")
    expect(page.locator("#lead")).to_contain_text("with 5 W")


def test_giving_up_is_confirmed_and_tuning_starts_the_held_clock(page: Page, hunt: str) -> None:
    run_clock(page)
    enter(page, "081")
    expect(page.locator("#acts")).to_contain_text("give up this station")
    enter(page, ".")
    expect(page.locator("#status")).to_have_text("Given up.")
    expect(page.locator("#will")).to_contain_text("Nothing noted yet.")
    expect(page.locator("#ear")).to_have_text("The clock is stopped")
    page.keyboard.press("ArrowUp")
    expect(page.locator("#ear")).to_have_text("Your ear is open")
    enter(page, "i")
    expect(page.locator("#ear")).to_have_text("The clock is stopped")
    page.keyboard.press("Shift+ArrowDown")
    expect(page.locator("#ear")).to_have_text("Your ear is open")


def test_a_short_hunt_is_chosen_beside_the_button(page: Page, site: str) -> None:
    page.goto(f"{site}/hunt")
    expect(page.locator("#begin")).to_be_focused()
    page.keyboard.press("Tab")
    expect(page.locator("#minutes")).to_be_focused()
    expect(page.locator("#about")).to_contain_text("hear its call, give yours")


def test_nothing_is_announced_while_the_band_sounds(page: Page, hunt: str) -> None:
    run_clock(page)
    enter(page, "081")
    enter(page, "up 1")
    expect(page.locator("#frequency")).to_have_text("14\u00a0238.3")
    page.keyboard.press("ArrowUp")
    page.wait_for_timeout(500)
    assert page.evaluate("spoken") == []


def test_the_end_of_a_hunt_leads_to_its_page(page: Page, hunt: str) -> None:
    wait_for_hunt(page)
    with Store(record_file()) as store:
        session = HuntSession.load(store, hunt, speech=NoiseSpeech())
        session.advance(session.live.ends_at)
    page.reload()
    page.wait_for_url(f"**/hunt-end?hunt={hunt}")


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGKILL")
def test_a_hunt_goes_on_after_the_program_was_killed(browser: Browser, home: Path) -> None:
    identity = begin_hunt()
    context = browser.new_context()
    page = context.new_page()
    with running_program(home, "page", "--no-browser", "--port", "0") as (process, address):
        page.goto(address)
        page.goto(f"{address.split('?')[0]}hunt?session={identity}")
        run_clock(page)
        enter(page, "081")
        expect(page.locator("#will")).to_contain_text("LY5QSF 081")
        process.send_signal(signal.SIGKILL)
        process.wait()
        expect(page.locator("#status")).to_contain_text("Press Enter to continue.")
    port = address.split("/")[2].partition(":")[2]
    with running_program(home, "page", "--no-browser", "--port", port):
        page.keyboard.press("Enter")
        expect(page.locator("#ear")).to_have_text("Your ear is open")
        expect(page.locator("#will")).to_contain_text("LY5QSF 081")
        enter(page, "l")
        expect(page.locator("#pad li").first).to_contain_text("LY5QSF")
        context.close()


def test_the_newest_window_has_the_hunt(page: Page, hunt: str, site: str) -> None:
    run_clock(page)
    other = page.context.new_page()
    other.goto(f"{site}/hunt?session={hunt}")
    run_clock(other)
    expect(page.locator("#status")).to_contain_text("open in another window. Enter continues it")
    page.keyboard.press("Enter")
    expect(page.locator("#ear")).to_have_text("Your ear is open")
    expect(other.locator("#status")).to_contain_text("open in another window")
    other.close()
