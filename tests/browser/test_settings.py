"""The settings page, by keyboard in a real browser: kept at once, and said."""

import re

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from drill.session import settings

pytestmark = pytest.mark.usefixtures("home")


def kept(name: str) -> object:
    with Store(record_file()) as store:
        return settings.values(store)[name]


def said(page: Page, words: str) -> None:
    expect(page.get_by_role("status")).to_contain_text(words)


def test_each_is_kept_at_once_and_said(page: Page, site: str) -> None:
    page.goto(f"{site}/settings")
    volume = page.get_by_label("Volume of the page")
    expect(volume).to_have_attribute("aria-valuetext", "50 per cent")
    expect(page.get_by_label("only when I ask for it")).to_have_count(0)
    volume.focus()
    page.keyboard.press("ArrowLeft")
    said(page, "Kept: volume 45 per cent.")
    assert kept("volume") == pytest.approx(0.45)
    page.get_by_label("Both ears").focus()
    page.keyboard.press("ArrowDown")
    said(page, "Kept: left ear only.")
    assert kept("speech_side") == "left"
    page.get_by_label("As the system has it").focus()
    page.keyboard.press("ArrowUp")
    said(page, "Kept: dark.")
    assert kept("scheme") == "dark"
    ground = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert max(int(one) for one in re.findall(r"\d+", ground)[:3]) < 80
    assert kept("auto_next_s") == 0
    pause = page.get_by_label("Next item after an answer")
    pause.focus()
    page.keyboard.press("ArrowDown")
    said(page, "Kept: the next item comes by itself after 2 seconds.")
    assert kept("auto_next_s") == 2
    page.reload()
    expect(page.get_by_label("Left ear only")).to_be_checked()
    expect(page.get_by_label("Dark")).to_be_checked()
    expect(volume).to_have_value("0.45")
    expect(pause).to_have_value("2")


def test_what_a_new_sitting_begins_with(page: Page, site: str) -> None:
    page.goto(f"{site}/settings")
    part = page.get_by_label("What is said")
    expect(part).to_have_value("call")
    part.focus()
    page.keyboard.press("ArrowDown")
    said(page, "Kept: What is said exchange.")
    expect(page.locator("#part-says")).to_contain_text("without the call")
    items = page.get_by_label("Items")
    items.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("0")
    page.keyboard.press("Tab")
    expect(page.locator("#new-problem")).to_contain_text("Items: give a whole number from 1 to")
    expect(items).to_have_attribute("aria-invalid", "true")
    page.keyboard.press("Control+A")
    page.keyboard.type("12")
    page.keyboard.press("Tab")
    said(page, "Kept: Items 12.")
    expect(items).not_to_have_attribute("aria-invalid", "true")
    last = kept("last_practice")
    assert isinstance(last, dict)
    assert (last["part"], last["count"]) == ("exchange", 12)
