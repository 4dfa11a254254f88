"""The settings page, by keyboard: every change is saved and announced at once."""

import re
from dataclasses import replace

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.settings import setting_values
from tests.drill.studio_installation import StubInstallation

pytestmark = pytest.mark.usefixtures("home")


def stored_setting(name: str) -> object:
    with Store(record_file()) as store:
        return setting_values(store)[name]


def expect_announcement(page: Page, text: str) -> None:
    expect(page.get_by_role("status")).to_contain_text(text)


def test_every_change_is_saved_and_announced(page: Page, site: str) -> None:
    page.goto(f"{site}/settings")
    volume = page.get_by_label("Volume of the page")
    expect(volume).to_have_attribute("aria-valuetext", "50 per cent")
    volume.focus()
    page.keyboard.press("ArrowLeft")
    expect_announcement(page, "Saved: volume 45 per cent.")
    assert stored_setting("volume") == pytest.approx(0.45)
    page.get_by_label("Both ears").focus()
    page.keyboard.press("ArrowDown")
    expect_announcement(page, "Saved: left ear only.")
    assert stored_setting("speech_side") == "left"
    page.get_by_label("Same as the system").focus()
    page.keyboard.press("ArrowUp")
    expect_announcement(page, "Saved: dark.")
    assert stored_setting("scheme") == "dark"
    background = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert max(int(part) for part in re.findall(r"\d+", background)[:3]) < 80
    assert stored_setting("auto_next_s") == 0
    pause = page.get_by_label("Next item after an answer")
    pause.focus()
    page.keyboard.press("ArrowDown")
    expect_announcement(page, "Saved: Next item after an answer: automatically after 2 seconds.")
    assert stored_setting("auto_next_s") == 2
    page.reload()
    expect(page.get_by_label("Left ear only")).to_be_checked()
    expect(page.get_by_label("Dark")).to_be_checked()
    expect(volume).to_have_value("0.45")
    expect(pause).to_have_value("2")


def test_options_of_a_new_practice_session_are_saved(page: Page, site: str) -> None:
    page.goto(f"{site}/settings")
    part = page.get_by_label("What is said")
    expect(part).to_have_value("call")
    part.focus()
    page.keyboard.press("ArrowDown")
    expect_announcement(page, "Saved: What is said exchange.")
    expect(page.locator("#part-hint")).to_contain_text("without the call")
    items = page.get_by_label("Items")
    items.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("0")
    page.keyboard.press("Tab")
    problem = page.locator("#defaults-problem")
    expect(problem).to_contain_text("Items: enter a whole number from 1 to")
    expect(items).to_have_attribute("aria-invalid", "true")
    page.keyboard.press("Control+A")
    page.keyboard.type("12")
    page.keyboard.press("Tab")
    expect_announcement(page, "Saved: Items 12.")
    expect(items).not_to_have_attribute("aria-invalid", "true")
    options = stored_setting("last_practice")
    assert isinstance(options, dict)
    assert (options["part"], options["count"]) == ("exchange", 12)


def test_the_studio_voices_are_added_with_an_agreement(
    page: Page, site: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    installation = StubInstallation(monkeypatch)
    installation.target = replace(installation.target, own=False)
    page.goto(site)
    page.get_by_role("link", name="Add them in the settings").click()
    add = page.get_by_role("button", name="Add the studio voices")
    add.focus()
    page.keyboard.press("Enter")
    expect(page.locator("#studio-problem")).to_contain_text("agree before packages are added")
    page.get_by_label("Add packages to this environment").focus()
    page.keyboard.press("Space")
    add.focus()
    page.keyboard.press("Enter")
    expect(page.locator("#studio-says")).to_contain_text("in 50 % of its length")
    expect(add).to_be_hidden()
    assert installation.installs == ["studio"]
    page.goto(site)
    expect(page.locator("#studio-note")).to_be_hidden()
