"""Problems during a session: the focus, points and measurements must survive all of them."""

import pytest
from playwright.sync_api import Page, Route, expect

from drill.core.paths import record_file
from drill.records.store import Store
from tests.browser.session_steps import (
    SOUND_COUNTER,
    WRONG,
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
)

pytestmark = pytest.mark.usefixtures("home")
FULL_STORAGE = """
const setItem = Storage.prototype.setItem;
Storage.prototype.setItem = function (key, value) {
  if (key.startsWith("heard ")) throw new DOMException("full", "QuotaExceededError");
  return setItem.call(this, key, value);
};
"""
"""Script for a browser whose storage is full, so that it stores no play counts."""
NO_OUTPUT = """
window.outputBroken = true;
const resume = AudioContext.prototype.resume;
Object.defineProperty(AudioContext.prototype, "state", {
  get() { return window.outputBroken ? "suspended" : "running"; },
});
AudioContext.prototype.resume = function () {
  return window.outputBroken ? new Promise(() => {}) : resume.call(this);
};
"""
"""Script for an audio output that does not start until window.outputBroken is false."""


def open_form(page: Page, site: str) -> None:
    """Open the form of a practice session with the caution confirmed."""
    with Store(record_file()) as store:
        confirm_caution(store)
    page.goto(f"{site}/practise")
    expect(page.locator("#mix option")).not_to_have_count(0)


def test_plays_are_counted_if_the_browser_s_storage_is_full(page: Page, site: str) -> None:
    open_session(page, site, f"practise?session={begin_practice()}", FULL_STORAGE)
    play(page)
    enter(page, "n")
    wait_for_sounds(page, 2)
    enter(page, WRONG)
    expect(page.locator("#verdict")).to_contain_text("played 2 times")


def test_answer_line_takes_over_the_focus_of_a_button_that_disappears(
    page: Page, site: str
) -> None:
    open_session(page, site, f"practise?session={begin_practice()}")
    play(page)

    def delay(route: Route) -> None:
        page.wait_for_timeout(300)
        route.continue_()

    page.route("**/answers", delay)
    enter(page, WRONG)
    page.get_by_role("button", name="Where am I?").focus()
    expect(page.locator("#verdict")).to_be_visible()
    assert focused_id(page) == "answer-line"


def test_pressing_enter_twice_begins_one_session(page: Page, site: str) -> None:
    open_form(page, site)
    page.evaluate("""() => {
      const form = document.getElementById("options");
      form.requestSubmit();
      form.requestSubmit();
    }""")
    expect(page.locator("#answer-line")).to_be_focused()
    page.wait_for_timeout(300)
    assert len(begun_sessions()) == 1


def test_another_session_with_the_same_options_has_another_seed(page: Page, site: str) -> None:
    open_form(page, site)
    page.get_by_text("More options").press("Enter")
    page.get_by_label("Seed").fill("7")
    page.get_by_label("Items").press("Enter")
    expect(page.locator("#session-description")).to_contain_text("seed 7.")
    enter(page, "s")
    expect(page.get_by_role("heading", name="Stopped.")).to_be_visible()
    page.get_by_role("button", name="Start another like this").press("Enter")
    expect(page.locator("#answer-line")).to_be_focused()
    expect(page.locator("#session-description")).not_to_contain_text("seed 7.")


def test_session_begun_elsewhere_can_be_continued_but_not_repeated(page: Page, site: str) -> None:
    open_session(page, site, f"practise?session={begin_practice()}")
    enter(page, "s")
    expect(page.get_by_role("button", name="Continue")).to_be_focused()
    expect(page.get_by_role("button", name="Start another like this")).to_be_hidden()
    page.keyboard.press("Enter")
    expect(page.locator("#answer-line")).to_be_focused()


@pytest.mark.slow
def test_item_that_the_computer_could_not_play_counts_as_not_heard(page: Page, site: str) -> None:
    session = begin_quick_check()
    open_session(page, site, f"measure?session={session}", NO_OUTPUT)
    enter(page)
    expect(page.get_by_role("status")).to_contain_text("No sound")
    assert focused_id(page) == "answer-line"
    page.evaluate("window.outputBroken = false")
    play(page)
    enter(page, WRONG)
    wait_for_sounds(page, 2)
    assert stored_attempts(session)[0].answer.replays == 0


def test_item_cannot_be_given_up_before_it_was_played(page: Page, site: str) -> None:
    open_session(page, site, f"practise?session={begin_practice()}")
    expect(page.get_by_role("button", name="Give up")).to_be_hidden()


def test_window_that_missed_an_answer_continues_with_the_record(page: Page, site: str) -> None:
    session = begin_practice()
    open_session(page, site, f"practise?session={session}")
    play(page)
    other = page.context.new_page()
    open_session(other, site, f"practise?session={session}")
    play(other)
    enter(other, WRONG)
    expect(other.locator("#verdict")).to_be_visible()
    page.bring_to_front()
    enter(page, "q9xyz")
    expect(page.get_by_role("status")).to_contain_text("Item 1 is already answered.")
    expect(page.get_by_role("heading", name="Item 2 of 2")).to_be_visible()
    assert focused_id(page) == "answer-line"


def test_page_whose_cookie_was_deleted_renews_it(page: Page, site: str) -> None:
    open_session(page, site, f"practise?session={begin_practice()}")
    play(page)
    page.context.clear_cookies()
    enter(page, WRONG)
    expect(page.locator("#verdict")).to_be_visible()


def test_answer_line_names_the_fields_to_copy(page: Page, site: str) -> None:
    page.add_init_script(SOUND_COUNTER)
    open_form(page, site)
    page.get_by_label("What is said").select_option("over")
    page.get_by_label("Items").press("Enter")
    line = page.locator("#answer-line")
    expect(line).to_be_focused()
    expect(line).to_have_accessible_name(
        "Your answer: call, report (may be left out if 59), serial", timeout=15_000
    )
