"""Sessions from the form to the result, by keyboard alone."""

import re

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.kinds.first_steps import FirstSteps
from tests.browser.session_steps import (
    SHORT_PLAN,
    SOUND_COUNTER,
    WRONG,
    begin_in_record,
    begin_practice,
    begin_quick_check,
    begun_sessions,
    confirm_caution,
    enter,
    focused_id,
    open_session,
    play,
    stored_attempts,
    wait_for_sounds,
    wait_until,
)
from tests.web.client import correct_answer, current_item

pytestmark = pytest.mark.usefixtures("home")
ANNOUNCEMENT_LOG = """
window.announcements = [];
document.addEventListener("sound", (event) => { window.isPlaying = event.detail > 0; });
document.addEventListener("DOMContentLoaded", () => {
  const region = document.getElementById("status");
  new MutationObserver(() => {
    const text = region.textContent;
    if (text) window.announcements.push([text, Boolean(window.isPlaying)]);
  }).observe(region, {childList: true, characterData: true, subtree: true});
});
"""
"""Script that stores every announcement and whether a sound was playing at that moment."""


def test_practice_runs_from_the_form_to_the_result(page: Page, site: str) -> None:
    page.add_init_script(SOUND_COUNTER)
    page.add_init_script(ANNOUNCEMENT_LOG)
    page.goto(f"{site}/practise")
    expect(page.locator("#mix option")).not_to_have_count(0)
    page.get_by_label("Items").fill("2")
    page.get_by_text("More options").press("Enter")
    page.get_by_label("Where the calls come from").select_option("unassigned")
    page.get_by_label("Who speaks").select_option("rivet")
    page.get_by_label("Items").press("Enter")
    # The caution comes before the very first sound.
    expect(page.locator("#confirm-caution")).to_be_focused()
    page.wait_for_timeout(500)  # an earlier press may have been meant for the form
    assert page.evaluate("window.soundCount") == 0
    page.locator("#confirm-caution").press("Enter")
    expect(page.get_by_label("Your answer")).to_be_focused()
    (session,) = begun_sessions()
    # Item 1: it plays after the caution; answered correctly at once.
    wait_for_sounds(page, 1)
    enter(page, correct_answer(current_item(session)).lower())
    expect(page.locator("#verdict")).to_contain_text("Right")
    expect(page.get_by_role("status")).to_have_text("Right.")
    assert focused_id(page) == "answer-line"
    # Item 2: played twice, answered wrongly, then played clean and in the noise.
    play(page, 2)
    enter(page, "n")
    wait_for_sounds(page, 3)
    enter(page, "i")
    expect(page.get_by_role("status")).to_contain_text("Item 2 of 2.")
    enter(page, WRONG)
    expect(page.locator("#verdict")).to_contain_text("Not right")
    expect(page.locator("#verdict")).to_contain_text("played 2 times")
    enter(page, "c")
    wait_for_sounds(page, 4)
    enter(page, "n")
    wait_for_sounds(page, 5)
    expect(page.locator("#heard .strip li").first).to_be_visible()
    enter(page, "1c")
    wait_for_sounds(page, 6)
    page.get_by_role("button", name=re.compile(r"^2\. .*: play it alone$")).click()
    wait_for_sounds(page, 7)
    wait_until(page, "!window.soundPlays")
    page.locator("#answer-line").focus()
    enter(page, "d")
    expect(page.get_by_role("status")).to_contain_text(re.compile(r"1\. [a-z-]+, .* the noise"))
    assert focused_id(page) == "answer-line"
    enter(page)
    check_result(page)
    expect(page.locator("#verdict")).to_be_hidden()
    first, second = stored_attempts(session)
    assert (first.right, second.answer.typed, second.answer.replays) == (True, WRONG, 1)
    # No announcement came while a sound was playing.
    announcements = page.evaluate("window.announcements")
    assert any(text.startswith("Right") for text, _ in announcements)
    assert [text for text, playing in announcements if playing] == []


def check_result(page: Page) -> None:
    """Check the result of one right and one wrong answer, and hear the wrong one again."""
    expect(page.get_by_role("heading", name="1 of 2")).to_be_visible()
    expect(page.locator("#result-lead")).to_contain_text("Calls right on first hearing")
    expect(page.get_by_role("button", name="Start another like this")).to_be_focused()
    page.get_by_role("button", name=re.compile("given up|missed: hear it")).press("Enter")
    wait_for_sounds(page, 8)
    wait_until(page, "!window.soundPlays")


def test_two_keys_lead_from_the_first_page_to_the_first_sound(page: Page, site: str) -> None:
    """The caution was confirmed before; test_speech_and_sound.py counts the keys with it."""
    with Store(record_file()) as store:
        confirm_caution(store)
    page.add_init_script(SOUND_COUNTER)
    page.goto(f"{site}/")
    expect(page.get_by_role("button", name="Hear the first voice")).to_be_focused()
    expect(page.get_by_role("heading", name=re.compile("your first ten minutes"))).to_be_visible()
    page.keyboard.press("Enter")
    expect(page.locator("#answer-line")).to_be_focused()
    page.keyboard.press("Enter")
    wait_for_sounds(page, 1)
    with Store(record_file()) as store:
        session = store.session(begun_sessions()[0])
    assert session is not None
    assert session.mode == "first-steps"


def test_the_first_page_leads_back_to_all_choices(page: Page, site: str) -> None:
    page.goto(f"{site}/")
    page.get_by_role("link", name="Choose myself").press("Enter")
    expect(page.get_by_role("radio", name="Practice")).to_be_focused()


def test_session_continues_after_its_window_was_closed(page: Page, site: str) -> None:
    open_session(page, site, f"practise?session={begin_practice()}")
    play(page)
    enter(page, WRONG)
    expect(page.locator("#verdict")).to_be_visible()
    page.goto(f"{site}/")
    expect(
        page.get_by_role("heading", name=re.compile("continue where you stopped"))
    ).to_be_visible()
    expect(page.get_by_role("button", name="Continue")).to_be_focused()
    expect(page.locator("#today-why")).to_have_text("Practice, item 2 of 2.")
    page.keyboard.press("Enter")
    expect(page.locator("#answer-line")).to_be_focused()
    expect(page.get_by_role("heading", name="Item 2 of 2")).to_be_visible()
    expect(page.locator("#answer-list li")).to_have_count(1)


def test_an_empty_line_is_not_an_answer_and_plays_nothing(page: Page, site: str) -> None:
    session = begin_practice()
    open_session(page, site, f"practise?session={session}")
    play(page)
    enter(page)
    enter(page)
    wait_until(page, "!window.soundPlays")
    enter(page)
    expect(page.get_by_role("status")).to_contain_text("n plays it again.")
    assert page.evaluate("window.soundCount") == 1
    enter(page, "s")
    expect(page.locator("#session")).to_be_hidden()
    assert stored_attempts(session) == []


@pytest.mark.slow
def test_quick_check_reveals_nothing_and_plays_nothing_twice(page: Page, site: str) -> None:
    session = begin_quick_check()
    open_session(page, site, f"measure?session={session}")
    play(page)
    expect(page.get_by_role("button", name="Hear again")).to_be_hidden()
    enter(page, "n")
    expect(page.get_by_role("status")).to_contain_text("played only once")
    assert page.evaluate("window.soundCount") == 1
    item = current_item(session)
    enter(page, WRONG)
    wait_for_sounds(page, 2)
    expect(page.locator("#verdict")).to_be_hidden()
    visible_text = page.get_by_role("main").inner_text()
    assert " ".join(item.message.fields[0].text) not in visible_text


def test_a_command_letter_alone_is_never_scored(page: Page, site: str) -> None:
    session = begin_practice()
    open_session(page, site, f"practise?session={session}")
    play(page)
    for letter in ("a", "C", "d"):
        enter(page, letter)
        expect(page.get_by_role("status")).to_contain_text(f"type ={letter.lower()}.")
    assert stored_attempts(session) == []
    enter(page, "=n")
    expect(page.locator("#verdict")).to_contain_text("Not right")
    assert [attempt.answer.typed for attempt in stored_attempts(session)] == ["n"]


def test_unknown_key_after_an_answer_is_explained(page: Page, site: str) -> None:
    open_session(page, site, f"practise?session={begin_practice()}")
    play(page)
    enter(page, WRONG)
    expect(page.locator("#verdict")).to_be_visible()
    enter(page, "x")
    expect(page.get_by_role("status")).to_contain_text("Unknown key 'x'; i shows")
    assert focused_id(page) == "answer-line"


def test_comparison_begins_from_its_form(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        confirm_caution(store)
    page.goto(f"{site}/compare")
    expect(page.locator("#first option")).not_to_have_count(0)
    page.get_by_label("What to compare").select_option("voices")
    page.get_by_label("First").select_option("rivet")
    page.get_by_label("Second").select_option("tin")
    page.get_by_label("Items for each").fill("10")
    page.get_by_role("button", name="Start").press("Enter")
    expect(page.locator("#answer-line")).to_be_focused()
    # Ten items for each operator, and five warm-up items.
    expect(page.get_by_role("heading", name="Item 1 of 25")).to_be_visible()
    # The page does not reveal which of them speaks.
    assert "rivet" not in page.get_by_role("main").inner_text()


def test_form_shows_the_options_that_the_kind_takes(page: Page, site: str) -> None:
    page.goto(f"{site}/practise")
    snr = page.get_by_label("SNR in 3 kHz")
    expect(snr).to_be_visible()
    page.get_by_role("radio", name="Training").check()
    expect(snr).to_be_hidden()
    page.goto(f"{site}/compare")
    page.get_by_label("What to compare").select_option("conditions")
    expect(page.locator("#conditions")).to_be_hidden()
    page.get_by_label("What to compare").select_option("fading")
    expect(page.locator("#conditions")).to_be_visible()


def test_power_in_watts_replaces_the_snr(page: Page, site: str) -> None:
    """5 W are 13.0 dB below 100 W: 10 log10(100 / 5)."""
    page.goto(f"{site}/practise")
    expect(page.locator("#mix option")).not_to_have_count(0)
    expect(page.get_by_label("Power of the station")).to_be_hidden()
    page.get_by_label("Signal strength").select_option("from the station's power")
    expect(page.get_by_label("SNR in 3 kHz")).to_be_hidden()
    page.get_by_label("Power of the station").fill("5")
    page.get_by_label("SNR of 100 W").fill("12")
    page.get_by_text("More options").press("Enter")
    page.get_by_label("Who speaks").select_option("bundled")
    page.get_by_label("Items").press("Enter")
    expect(page.get_by_role("heading", name="Protect your hearing")).to_be_visible()
    with Store(record_file()) as store:
        session = store.session(begun_sessions()[0])
    assert session is not None
    assert session.plan["conditions"]["snr_db"] == pytest.approx(-1.0, abs=0.02)
    assert len(session.plan["voices"]) > 60


def test_server_error_is_shown_at_the_field_that_it_names(page: Page, site: str) -> None:
    page.goto(f"{site}/practise")
    expect(page.locator("#mix option")).not_to_have_count(0)
    page.get_by_text("More options").press("Enter")
    # As if the browser did not check the range itself.
    page.locator("#pace").evaluate("e => { e.min = 0; }")
    page.get_by_label("Speaking rate").fill("0.1")
    page.get_by_label("Items").press("Enter")
    expect(page.locator("#problem")).to_contain_text("pace")
    expect(page.get_by_label("Speaking rate")).to_be_focused()


def test_the_first_voice_of_first_steps_comes_with_a_large_slider(page: Page, site: str) -> None:
    session = begin_in_record(FirstSteps(plan=SHORT_PLAN))
    open_session(page, site, f"practise?session={session}")
    slider = page.get_by_role("slider", name="Volume")
    expect(slider).to_have_accessible_description(re.compile("just comfortable"))
    box = slider.bounding_box()
    assert box is not None
    assert box["width"] > 500
    play(page)
    enter(page, ".")
    expect(page.locator("#verdict")).to_be_visible()
    expect(page.locator("#first-volume")).to_be_hidden()
