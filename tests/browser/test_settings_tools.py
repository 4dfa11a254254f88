"""The settings: learn a mix from a log, check the channel, choose the output device."""

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from drill.callmix.storage import find_learned_mix
from drill.selfcheck.figures import CheckedFigure
from drill.web.api import selfcheck
from tests.browser.accessibility import violations
from tests.drill.callmix.invented_logs import cabrillo_text, invented_calls

pytestmark = pytest.mark.usefixtures("home")
DEVICES = """
navigator.mediaDevices.enumerateDevices = async () => [
  { kind: "audioinput", deviceId: "m", label: "Desk microphone" },
  { kind: "audiooutput", deviceId: "h", label: "Headphones" },
];
window.usedDevice = null;
AudioContext.prototype.setSinkId = async function (id) { window.usedDevice = id; };
"""
"""Script for a browser that has a second output device."""


def open_settings(page: Page, site: str) -> None:
    page.goto(f"{site}/settings")
    expect(page.locator("#volume")).to_have_attribute("aria-valuetext", "50 per cent")


def test_a_mix_is_learned_from_a_log(page: Page, site: str, tmp_path: Path) -> None:
    log = tmp_path / "own.log"
    log.write_text(cabrillo_text(invented_calls(300)))
    open_settings(page, site)
    learn = page.get_by_role("button", name="Learn the mix")
    learn.click()
    expect(page.locator("#mix-problem")).to_contain_text("Choose your log first")
    page.get_by_label("Your log").set_input_files(log)
    page.get_by_label("Name of the mix").fill("Autumn")
    learn.click()
    expect(page.locator("#mix-problem")).to_contain_text("cannot be the name of a mix")
    page.get_by_label("Name of the mix").fill("autumn")
    page.get_by_label("Name of the mix").press("Enter")
    expect(page.locator("#mix-says")).to_contain_text("300 contacts. Mix autumn")
    assert find_learned_mix("autumn") is not None
    learn.click()
    expect(page.locator("#mix-problem")).to_contain_text("already exists")
    assert violations(page) == []
    page.goto(f"{site}/practise")
    expect(page.locator("#mix option[value=autumn]")).to_have_count(1)


def test_the_self_check_is_cancelled_and_continued(
    page: Page, site: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    permission = threading.Event()

    def figure(quantity: str) -> CheckedFigure:
        return CheckedFigure(quantity=quantity, value=1, low=0, high=2, unit="dB", source="test")

    def slow() -> Iterator[CheckedFigure]:
        assert permission.wait(60)
        yield figure("gain")

    long = "AGC, settled output relative to target, -40 to 0 dB"
    checks = (slow, lambda: iter([figure(long), figure("delay")]))
    monkeypatch.setattr(selfcheck, "SELF_CHECKS", checks)
    open_settings(page, site)
    page.get_by_role("button", name="Measure now").press("Enter")
    expect(page.locator("#self-check-progress")).to_contain_text("0 of 2")
    with page.expect_response("**/api/selfcheck/cancel"):
        page.get_by_role("button", name="Cancel").press("Enter")
    permission.set()
    proceed = page.get_by_role("button", name="Continue")
    expect(proceed).to_be_focused()
    expect(page.locator("#self-check-result")).to_contain_text("so far: 1 of 1")
    proceed.press("Enter")
    expect(page.locator("#self-check-result")).to_contain_text("limits: 3 of 3 values")
    expect(page.get_by_role("button", name="Measure again")).to_be_focused()
    for width in (1280, 360):
        page.set_viewport_size({"width": width, "height": 800})
        frame = page.locator("#self-check-result .scrollable")
        assert frame.evaluate("e => e.scrollWidth <= e.clientWidth"), width
    assert violations(page) == []


def test_another_output_device_is_chosen(page: Page, site: str) -> None:
    page.add_init_script(DEVICES)
    open_settings(page, site)
    page.get_by_role("button", name="Choose another output device").click()
    device = page.get_by_label("Output device")
    expect(device).to_be_focused()
    device.select_option("Headphones")
    expect(page.get_by_role("status")).to_contain_text("Saved: output device Headphones.")
    page.reload()
    page.get_by_role("button", name="Play a voice at this volume").click()
    page.locator("#confirm-caution").wait_for()
    page.wait_for_timeout(500)
    page.locator("#confirm-caution").click()
    page.wait_for_function("window.usedDevice === 'h'")


def test_a_browser_that_cannot_choose_says_so(page: Page, site: str) -> None:
    page.add_init_script("delete AudioContext.prototype.setSinkId;")
    open_settings(page, site)
    expect(page.locator("#no-output")).to_contain_text("the device that the system has chosen")
    expect(page.get_by_role("button", name="Choose another output device")).to_be_hidden()
