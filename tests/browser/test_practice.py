"""A drill from the form to the result, by keyboard alone in a real browser."""

from datetime import UTC, datetime

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from tests.browser.page_states import COUNTED, begin, sounding
from tests.web.client import present, truth

pytestmark = pytest.mark.usefixtures("home")
SAID = """
window.spoken = [];
document.addEventListener("sound", (event) => { window.sounding = event.detail > 0; });
document.addEventListener("DOMContentLoaded", () => new MutationObserver(() => {
  const text = document.getElementById("say").textContent;
  if (text) window.spoken.push([text, Boolean(window.sounding)]);
}).observe(document.getElementById("say"), {childList: true, characterData: true, subtree: true}));
"""
"""Keeps what the live region says, and whether a sound played at that moment."""


def focused(page: Page) -> str:
    return str(page.evaluate("document.activeElement.id"))


def enter(page: Page, text: str = "") -> None:
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def newest() -> str:
    with Store(record_file()) as store, store.transaction(writes=False) as database:
        return str(database.execute("SELECT id FROM sitting ORDER BY started DESC").fetchone()[0])


def test_from_the_form_to_the_result(page: Page, site: str) -> None:
    page.add_init_script(COUNTED)
    page.add_init_script(SAID)
    page.goto(f"{site}/practise")
    expect(page.locator("#mix option")).not_to_have_count(0)
    page.get_by_label("Items").fill("2")
    page.get_by_text("More choices").press("Enter")
    page.get_by_label("Where the calls come from").select_option("unassigned")
    page.get_by_label("Who speaks").select_option("rivet")
    page.get_by_label("Items").press("Enter")
    # The ears come first, once.
    expect(page.get_by_role("heading", name="Your ears first")).to_be_focused()
    page.get_by_role("button", name="The volume is low: go on").press("Enter")
    line = page.get_by_label("Your copy")
    expect(line).to_be_focused()
    identity = newest()
    # Right at once.
    assert page.evaluate("window.sounds") == 0
    enter(page)
    sounding(page, 1)
    enter(page, truth(present(identity)).lower())
    expect(page.locator("#verdict")).to_contain_text("Right")
    expect(page.get_by_role("status")).to_have_text("Right.")
    assert focused(page) == "copy"
    # Heard twice, then wrong, then clean, then in the noise.
    enter(page)
    sounding(page, 2)
    enter(page)
    sounding(page, 3)
    enter(page, "?")
    enter(page, "q9abc")
    expect(page.locator("#verdict")).to_contain_text("Not right")
    expect(page.locator("#verdict")).to_contain_text("heard 2 times")
    enter(page, "c")
    sounding(page, 4)
    enter(page, "n")
    sounding(page, 5)
    assert focused(page) == "copy"
    enter(page)
    expect(page.get_by_role("heading", name="Result")).to_be_focused()
    expect(page.locator("#told")).to_contain_text("1 of 2 logged right")
    with Store(record_file()) as store:
        first, second = store.attempts(identity)
    assert first.right
    assert (second.answer.text, second.answer.replays) == ("q9abc", 1)
    # Nothing was ever said while a sound played.
    spoken = page.evaluate("window.spoken")
    assert any(text.startswith("Right") for text, _ in spoken)
    assert [text for text, loud in spoken if loud] == []


def test_enter_leads_from_the_first_page_to_the_caution_of_a_practice(
    page: Page, site: str
) -> None:
    page.goto(f"{site}/")
    expect(page.get_by_role("main").get_by_role("link", name="Practise")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_role("radio", name="Practice")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Your ears first")).to_be_focused()


def test_a_window_closed_in_the_middle_goes_on(page: Page, site: str) -> None:
    identity = begin()
    page.add_init_script(COUNTED)
    page.goto(f"{site}/practise?go={identity}")
    expect(page.locator("#copy")).to_be_focused()
    enter(page)
    sounding(page, 1)
    enter(page, "q9abc")
    expect(page.locator("#verdict")).to_be_visible()
    page.goto(f"{site}/")
    expect(page.get_by_role("link", name="Practice, item 2 of 2")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#copy")).to_be_focused()
    expect(page.get_by_role("heading", name="Item 2 of 2")).to_be_visible()
    expect(page.locator("#strip li")).to_have_count(1)


def test_measuring_tells_nothing_and_plays_nothing_twice(page: Page, site: str) -> None:
    identity = begin("quick")
    page.add_init_script(COUNTED)
    page.goto(f"{site}/measure?go={identity}")
    expect(page.locator("#copy")).to_be_focused()
    enter(page)
    sounding(page, 1)
    expect(page.get_by_role("button", name="Hear it again")).to_be_hidden()
    enter(page)
    expect(page.get_by_role("status")).to_contain_text("Nothing is heard twice", timeout=10_000)
    assert page.evaluate("window.sounds") == 1
    item = present(identity)
    enter(page, "q9abc")
    sounding(page, 2)
    expect(page.locator("#verdict")).to_be_hidden()
    shown = page.get_by_role("main").inner_text()
    assert " ".join(item.message.fields[0].text) not in shown


def test_a_comparison_begins(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    page.goto(f"{site}/compare")
    expect(page.locator("#first option")).not_to_have_count(0)
    page.get_by_label("What to compare").select_option("voices")
    page.get_by_label("The one").select_option("rivet")
    page.get_by_label("The other").select_option("tin")
    page.get_by_label("Items of each").fill("10")
    page.get_by_role("button", name="Begin").press("Enter")
    expect(page.locator("#copy")).to_be_focused()
    # Ten of each, and the items by which the level is found first.
    expect(page.get_by_role("heading", name="Item 1 of 25")).to_be_visible()
    # Which of them speaks is not told.
    assert "rivet" not in page.get_by_role("main").inner_text()


def test_watts_stand_in_place_of_an_snr(page: Page, site: str) -> None:
    """5 W are 13.0 dB under 100 W: 10 log10(100 / 5)."""
    page.goto(f"{site}/practise")
    expect(page.locator("#mix option")).not_to_have_count(0)
    page.get_by_text("More choices").press("Enter")
    page.get_by_label("Power in place of an SNR").fill("5")
    page.get_by_label("SNR that 100 W give").fill("12")
    page.get_by_label("Who speaks").select_option("bundled")
    page.get_by_label("Items").press("Enter")
    expect(page.get_by_role("heading", name="Your ears first")).to_be_focused()
    with Store(record_file()) as store:
        found = store.sitting(newest())
    assert found is not None
    assert found.plan["conditions"]["snr_db"] == pytest.approx(-1.0, abs=0.02)
    assert len(found.plan["voices"]) > 60
