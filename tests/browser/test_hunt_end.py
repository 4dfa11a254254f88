"""The end of a hunt in the browser: by keyboard, accessible, and replaying a lost contact."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.accessibility import (
    CONTRAST_RULE,
    missing_parts,
    overflowing_elements,
    small_targets,
    unreachable_frames,
    violations,
)
from tests.browser.hunt_ends import record_hunt_with_losses
from tests.browser.page_states import open_all_details
from tests.browser.session_steps import SOUND_COUNTER, focused_id, wait_for_sounds

pytestmark = [pytest.mark.usefixtures("home"), pytest.mark.slow]


def open_end(page: Page, site: str) -> None:
    page.add_init_script(SOUND_COUNTER)
    page.goto(f"{site}/hunt-end?hunt={record_hunt_with_losses()}")
    expect(page.locator("#content")).to_be_visible()


def test_the_lost_contact_can_be_played_by_keyboard(page: Page, site: str) -> None:
    open_end(page, site)
    expect(page.get_by_role("heading", level=1)).to_have_text(
        "2 of 3 contacts are right in both logs"
    )
    assert focused_id(page) == "go"
    expect(page.locator("#go")).to_have_accessible_name("Hear the lost one Enter")
    page.keyboard.press("Enter")
    first = page.locator("#lost details").first
    expect(first.get_by_role("button", name="1, ")).to_have_count(2)
    assert page.evaluate("document.activeElement.localName") == "summary"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    wait_for_sounds(page, 1)
    expect(page.locator("#lost")).to_contain_text("They made out: E87ABC")
    page.get_by_role("button", name="Details read aloud").click()
    expect(page.locator("#status")).to_contain_text("The dial over")


def test_the_end_of_a_hunt_is_accessible(page: Page, site: str) -> None:
    page.emulate_media(color_scheme="light", reduced_motion="reduce")
    page.set_viewport_size({"width": 1280, "height": 800})
    open_end(page, site)
    open_all_details(page)
    expect(page.locator("#lost ol li").nth(1)).to_be_visible()
    assert violations(page) == []
    for scheme, forced in (("dark", "none"), ("light", "active")):
        page.emulate_media(color_scheme=scheme, forced_colors=forced)  # type: ignore[arg-type]
        assert violations(page, CONTRAST_RULE) == []
    page.emulate_media(color_scheme="light", forced_colors="none")
    for width, height in ((320, 640), (360, 380), (640, 400)):
        page.set_viewport_size({"width": width, "height": height})
        assert overflowing_elements(page) == [], (width, height)
    assert small_targets(page) == []
    assert unreachable_frames(page) == []
    page.set_viewport_size({"width": 1280, "height": 800})
    assert missing_parts(page) == []


def test_files_of_a_club_are_compared(page: Page, site: str, tmp_path: Path) -> None:
    open_end(page, site)
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save my hunts").click()
    mine = tmp_path / "anna.csv"
    saving.value.save_as(mine)
    assert "E87ABC" not in mine.read_text("utf-8")
    theirs = tmp_path / "ben.csv"
    theirs.write_bytes(mine.read_bytes())
    page.locator("#club-files").set_input_files([mine, theirs])
    expect(page.get_by_role("rowheader", name="anna")).to_be_visible()
    expect(page.locator("#club")).to_contain_text("Together you worked 2 stations")


def test_an_unknown_hunt_is_reported(page: Page, site: str) -> None:
    page.goto(f"{site}/hunt-end?hunt=0")
    expect(page.get_by_role("heading", level=1)).to_have_text("There is no finished hunt to show")
    expect(page.locator("#lead")).to_contain_text("there is no hunt")
