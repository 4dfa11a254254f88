"""Listening to conditions, by keyboard in a real browser."""

from datetime import UTC, datetime

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store

pytestmark = pytest.mark.usefixtures("home")
SLOW = 30_000
PLAYED = """
window.played = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (...all) {
  const sound = this.buffer.getChannelData(0);
  let power = 0;
  for (const one of sound) power += one * one;
  window.played.push({seconds: this.buffer.duration, rms: Math.sqrt(power / sound.length)});
  return start.apply(this, all);
};
"""
"""Keeps what the page hands to the sound card."""


@pytest.fixture
def form(page: Page, site: str) -> Page:
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    return opened(page, site)


def opened(page: Page, site: str) -> Page:
    page.add_init_script(PLAYED)
    page.goto(f"{site}/listen")
    expect(page.locator("#voice option").nth(1)).to_be_attached()
    page.get_by_text("More choices").focus()
    page.keyboard.press("Enter")
    page.locator("#mix").select_option("unassigned")
    page.locator("#voice").select_option("rivet")
    page.locator("#seed").fill("3")
    return page


def type_into(page: Page, name: str, first: str) -> None:
    """Choose from a list as a keyboard does: by its first letters."""
    page.locator(f"#{name}").focus()
    page.keyboard.type(first)


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name).focus()
    page.keyboard.press("Enter")


def played(page: Page, count: int) -> list[dict[str, float]]:
    """Return what was played, as soon as it is so many sounds.

    Asked again and again: a condition that the page itself would have to evaluate is refused by its
    content security policy.
    """
    for _ in range(SLOW // 50):
        found: list[dict[str, float]] = page.evaluate("window.played")
        if len(found) >= count:
            return found
        page.wait_for_timeout(50)
    raise AssertionError(f"{count} sounds were to be played; {len(found)} were")


@pytest.mark.slow
def test_an_over_as_asked_and_without_its_noise(form: Page) -> None:
    type_into(form, "conditions", "summer")
    expect(form.locator("#conditions-says")).not_to_be_empty()
    assert form.evaluate("window.played.length") == 0
    press(form, "Hear it as asked")
    (first,) = played(form, 1)
    expect(form.get_by_role("heading", name="What you hear")).to_be_visible()
    expect(form.locator("#sentence")).to_contain_text("conditions summer-static")
    expect(form.locator("#sentence")).to_contain_text("seed 3")
    pictures = form.get_by_role("img")
    expect(pictures).to_have_count(2)
    expect(pictures.first).to_have_accessible_name("Spectrogram, fading and levels, as asked")
    expect(form.get_by_role("table", name="What is heard, in figures")).to_be_visible()
    # Nothing is said while it plays; then, in a sentence, what it was.
    expect(form.get_by_role("status")).to_contain_text("That was it as asked. SNR", timeout=SLOW)
    press(form, "Hear it without noise")
    second = played(form, 2)[1]
    assert second["seconds"] == pytest.approx(first["seconds"])
    assert second["rms"] != pytest.approx(first["rms"], rel=1e-3)
    expect(form.get_by_role("status")).to_contain_text("without noise", timeout=SLOW)


def test_a_stage_that_is_not_there_is_said_to_change_nothing(form: Page) -> None:
    type_into(form, "without", "nei")
    press(form, "Hear it without neighbours")
    played(form, 1)
    expect(form.locator("#delivered")).to_contain_text("These conditions have none")
    form.get_by_role("button", name="Stop the sound").press("Enter")


def test_an_snr_that_no_over_can_have_is_refused(form: Page) -> None:
    form.get_by_label("At an SNR").check()
    snr = form.get_by_label("SNR in 3 kHz, dB")
    snr.focus()
    form.keyboard.press("Control+A")
    form.keyboard.type("99")
    form.keyboard.press("Enter")
    expect(form.locator("#problem")).to_have_text("SNR in 3 kHz, dB: give -30 to 60.")
    expect(snr).to_be_focused()
    expect(snr).to_have_attribute("aria-invalid", "true")
    form.keyboard.press("Control+A")
    form.keyboard.type("-2.5")
    form.keyboard.press("Enter")
    played(form, 1)
    expect(form.locator("#problem")).to_be_hidden()
    expect(form.locator("#sentence")).to_contain_text("SNR -2.5 dB in 3 kHz")
    # Watts in its place: 5 W are 13.0 dB below the 100 W that give 10 dB.
    form.get_by_label("By watts on a path").check()
    press(form, "Hear it as asked")
    expect(form.locator("#sentence")).to_contain_text("SNR -3.01 dB", timeout=SLOW)


def test_another_over_is_another(form: Page) -> None:
    press(form, "Another over")
    played(form, 1)
    first = form.locator("#sentence").text_content() or ""
    press(form, "Hear it as asked")
    played(form, 2)
    expect(form.locator("#sentence")).to_have_text(first)
    press(form, "Another over")
    expect(form.locator("#sentence")).not_to_have_text(first, timeout=SLOW)


def test_the_caution_stands_before_the_first_sound(page: Page, site: str) -> None:
    opened(page, site)
    button = page.get_by_role("button", name="Hear it as asked")
    button.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Your ears first")).to_be_focused()
    page.wait_for_timeout(300)
    assert page.evaluate("window.played.length") == 0
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    played(page, 1)
    expect(button).to_be_focused()
    expect(page.get_by_role("heading", name="Your ears first")).to_be_hidden()
    page.reload()
    page.get_by_role("button", name="Hear it as asked").press("Enter")
    played(page, 1)
