"""What goes wrong in a drill: nothing of it costs the focus, points or a measurement."""

from datetime import UTC, datetime

import pytest
from playwright.sync_api import Page, Route, expect

from drill.core.paths import record_file
from drill.records.store import Store
from tests.browser.page_states import COUNTED, begin, sounding
from tests.browser.test_practice import enter, focused

pytestmark = pytest.mark.usefixtures("home")
NO_STORAGE = """
Object.defineProperty(window, "localStorage", {get() { throw new Error("none"); }});
"""
NO_OUTPUT = """
window.broken = true;
const resume = AudioContext.prototype.resume;
Object.defineProperty(AudioContext.prototype, "state", {
  get() { return window.broken ? "suspended" : "running"; },
});
AudioContext.prototype.resume = function () {
  return window.broken ? new Promise(() => {}) : resume.call(this);
};
"""
"""An output that does not start until window.broken is false."""


def sittings() -> int:
    with Store(record_file()) as store, store.transaction(writes=False) as database:
        return int(database.execute("SELECT count(*) FROM sitting").fetchone()[0])


def at_the_line(page: Page, site: str, path: str, *scripts: str) -> None:
    """Open a sitting, ready to be heard."""
    for script in (COUNTED, *scripts):
        page.add_init_script(script)
    page.goto(f"{site}/{path}")
    expect(page.locator("#copy")).to_be_focused()


def at_the_form(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    page.goto(f"{site}/practise")
    expect(page.locator("#mix option")).not_to_have_count(0)


def test_what_was_heard_again_counts_without_storage_too(page: Page, site: str) -> None:
    at_the_line(page, site, f"practise?go={begin()}", NO_STORAGE)
    enter(page)
    sounding(page, 1)
    enter(page)
    sounding(page, 2)
    enter(page, "q9abc")
    expect(page.locator("#verdict")).to_contain_text("heard 2 times")


def test_the_line_takes_the_focus_of_a_button_that_goes(page: Page, site: str) -> None:
    at_the_line(page, site, f"practise?go={begin()}")
    enter(page)
    sounding(page, 1)

    def late(route: Route) -> None:
        page.wait_for_timeout(300)
        route.continue_()

    page.route("**/answers", late)
    enter(page, "q9abc")
    page.get_by_role("button", name="Where do I stand").focus()
    expect(page.locator("#verdict")).to_be_visible()
    assert focused(page) == "copy"


def test_two_quick_enters_begin_one_sitting(page: Page, site: str) -> None:
    at_the_form(page, site)
    page.evaluate("""() => {
      const form = document.getElementById("choices");
      form.requestSubmit();
      form.requestSubmit();
    }""")
    expect(page.locator("#copy")).to_be_focused()
    page.wait_for_timeout(300)
    assert sittings() == 1


def test_another_of_the_same_is_of_other_calls(page: Page, site: str) -> None:
    at_the_form(page, site)
    page.get_by_text("More choices").press("Enter")
    page.get_by_label("Seed").fill("7")
    page.get_by_label("Items").press("Enter")
    expect(page.locator("#conditions")).to_contain_text("seed 7.")
    enter(page, "s")
    expect(page.locator("#result-title")).to_be_focused()
    page.get_by_role("button", name="Another of the same").press("Enter")
    expect(page.locator("#copy")).to_be_focused()
    expect(page.locator("#conditions")).not_to_contain_text("seed 7.")


def test_a_sitting_of_elsewhere_offers_no_other_of_the_same(page: Page, site: str) -> None:
    at_the_line(page, site, f"practise?go={begin()}")
    enter(page, "s")
    expect(page.locator("#result-title")).to_be_focused()
    expect(page.get_by_role("button", name="Another of the same")).to_be_hidden()
    page.get_by_role("button", name="Go on").press("Enter")
    expect(page.locator("#copy")).to_be_focused()


def test_what_the_machine_could_not_play_was_not_heard(page: Page, site: str) -> None:
    identity = begin("quick")
    at_the_line(page, site, f"measure?go={identity}", NO_OUTPUT)
    enter(page)
    expect(page.get_by_role("status")).to_contain_text("No sound", timeout=25_000)
    assert focused(page) == "copy"
    page.evaluate("window.broken = false")
    enter(page)
    sounding(page, 1)
    enter(page, "q9abc")
    sounding(page, 2)
    with Store(record_file()) as store:
        assert store.attempts(identity)[0].answer.replays == 0


def test_nothing_is_given_up_that_was_not_heard(page: Page, site: str) -> None:
    at_the_line(page, site, f"practise?go={begin()}")
    expect(page.get_by_role("button", name="Give up")).to_be_hidden()


def test_a_second_window_goes_on_with_the_record(page: Page, site: str) -> None:
    identity = begin()
    at_the_line(page, site, f"practise?go={identity}")
    enter(page)
    sounding(page, 1)
    other = page.context.new_page()
    at_the_line(other, site, f"practise?go={identity}")
    enter(other)
    sounding(other, 1)
    enter(other, "q9abc")
    expect(other.locator("#verdict")).to_be_visible()
    page.bring_to_front()
    enter(page, "q9xyz")
    expect(page.get_by_role("status")).to_contain_text(
        "Item 1 has its answer in the record already"
    )
    expect(page.get_by_role("heading", name="Item 2 of 2")).to_be_visible()
    assert focused(page) == "copy"


def test_a_page_whose_cookie_is_gone_is_let_in_again(page: Page, site: str) -> None:
    at_the_line(page, site, f"practise?go={begin()}")
    enter(page)
    sounding(page, 1)
    page.context.clear_cookies()
    enter(page, "q9abc")
    expect(page.locator("#verdict")).to_be_visible()


def test_the_line_names_what_is_to_be_copied(page: Page, site: str) -> None:
    at_the_form(page, site)
    page.get_by_label("What is said").select_option("over")
    page.get_by_label("Items").press("Enter")
    line = page.locator("#copy")
    expect(line).to_be_focused()
    expect(line).to_have_accessible_name(
        "Your copy: call, report (may be left out if 59), serial", timeout=15_000
    )
