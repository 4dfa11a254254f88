"""Listening to conditions, by keyboard."""

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from tests.browser.session_steps import confirm_caution, wait_until

pytestmark = pytest.mark.usefixtures("home")
PLAYED_SOUNDS = """
window.playedSounds = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (...parameters) {
  const samples = this.buffer.getChannelData(0);
  let power = 0;
  for (const sample of samples) power += sample * sample;
  window.playedSounds.push({
    seconds: this.buffer.duration, rms: Math.sqrt(power / samples.length),
  });
  return start.apply(this, parameters);
};
"""
"""Script that stores duration and RMS of every sound that the page plays."""


@pytest.fixture
def form(page: Page, site: str) -> Page:
    """The form with the caution confirmed."""
    with Store(record_file()) as store:
        confirm_caution(store)
    return open_form(page, site)


def open_form(page: Page, site: str) -> Page:
    page.add_init_script(PLAYED_SOUNDS)
    page.goto(f"{site}/listen")
    expect(page.locator("#voices option").nth(1)).to_be_attached()
    page.get_by_text("More options").focus()
    page.keyboard.press("Enter")
    page.locator("#mix").select_option("unassigned")
    page.locator("#voices").select_option("rivet")
    page.locator("#seed").fill("3")
    return page


def choose(page: Page, select: str, first_letters: str) -> None:
    """Choose from a select by keyboard."""
    page.locator(f"#{select}").focus()
    page.keyboard.type(first_letters)


def press(page: Page, button: str) -> None:
    page.get_by_role("button", name=button).focus()
    page.keyboard.press("Enter")


def played_sounds(page: Page, count: int) -> list[dict[str, float]]:
    """Return the played sounds as soon as there are `count`."""
    wait_until(page, f"window.playedSounds.length >= {count}")
    sounds: list[dict[str, float]] = page.evaluate("window.playedSounds")
    return sounds


@pytest.mark.slow
def test_over_is_played_as_chosen_and_without_noise(form: Page) -> None:
    choose(form, "conditions", "summer")
    expect(form.locator("#conditions-hint")).not_to_be_empty()
    assert form.evaluate("window.playedSounds.length") == 0
    press(form, "Play as chosen")
    (first,) = played_sounds(form, 1)
    expect(form.get_by_role("heading", name="What you hear")).to_be_visible()
    expect(form.locator("#description")).to_contain_text("conditions summer-static")
    expect(form.locator("#description")).to_contain_text("seed 3")
    pictures = form.get_by_role("img")
    expect(pictures).to_have_count(2)
    expect(pictures.first).to_have_accessible_name("Spectrogram, fading and levels, as chosen")
    expect(form.get_by_role("table", name="Figures of the audio")).to_be_visible()
    # The announcement comes after the sound.
    status = form.get_by_role("status")
    expect(status).to_contain_text("That was the over as chosen, SNR")
    press(form, "Play without noise")
    second = played_sounds(form, 2)[1]
    assert second["seconds"] == pytest.approx(first["seconds"])
    assert second["rms"] != pytest.approx(first["rms"], rel=1e-3)
    expect(status).to_contain_text("without noise")


def test_stage_that_the_conditions_do_not_contain_makes_no_difference(form: Page) -> None:
    choose(form, "without", "nei")
    press(form, "Play without neighbouring stations")
    played_sounds(form, 1)
    expect(form.locator("#delivered")).to_contain_text("These conditions do not contain it")
    form.get_by_role("button", name="Stop the sound").press("Enter")


@pytest.mark.slow
def test_snr_out_of_range_is_refused_and_power_replaces_the_snr(form: Page) -> None:
    form.get_by_label("At an SNR").check()
    snr = form.get_by_label("SNR in 3 kHz, dB")
    snr.focus()
    form.keyboard.press("Control+A")
    form.keyboard.type("99")
    form.keyboard.press("Enter")
    problem = form.locator("#problem")
    expect(problem).to_have_text("SNR in 3 kHz, dB: enter a number from -30 to 60.")
    expect(snr).to_be_focused()
    expect(snr).to_have_attribute("aria-invalid", "true")
    form.keyboard.press("Control+A")
    form.keyboard.type("-2.5")
    form.keyboard.press("Enter")
    played_sounds(form, 1)
    expect(problem).to_be_hidden()
    expect(form.locator("#description")).to_contain_text("SNR -2.5 dB in 3 kHz")
    # 5 W are 13.0 dB below the 100 W that give 10 dB.
    form.get_by_label("From the station's power").check()
    press(form, "Play as chosen")
    expect(form.locator("#description")).to_contain_text("SNR -3.01 dB")


@pytest.mark.slow
def test_new_over_differs_and_the_same_over_is_kept(form: Page) -> None:
    press(form, "New over")
    played_sounds(form, 1)
    first = form.locator("#description").text_content() or ""
    press(form, "Play as chosen")
    played_sounds(form, 2)
    expect(form.locator("#description")).to_have_text(first)
    press(form, "New over")
    expect(form.locator("#description")).not_to_have_text(first)


def test_caution_comes_before_the_first_sound_only(page: Page, site: str) -> None:
    open_form(page, site)
    button = page.get_by_role("button", name="Play as chosen")
    button.focus()
    page.keyboard.press("Enter")
    heading = page.get_by_role("heading", name="Protect your hearing")
    expect(heading).to_be_visible()
    expect(page.locator("#confirm-caution")).to_be_focused()
    page.wait_for_timeout(500)  # an earlier press may have been meant for the form
    assert page.evaluate("window.playedSounds.length") == 0
    page.keyboard.press("Enter")
    played_sounds(page, 1)
    expect(button).to_be_focused()
    expect(heading).to_be_hidden()
    page.reload()
    page.get_by_role("button", name="Play as chosen").press("Enter")
    played_sounds(page, 1)
