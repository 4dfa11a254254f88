"""The forms of sessions: only useful fields, examples, how an SNR sounds, several voices."""

import json

import pytest
from playwright.sync_api import Page, Request, expect

from drill.core.paths import record_file
from drill.records.store import Store
from tests.browser.accessibility import violations
from tests.browser.session_steps import (
    SOUND_COUNTER,
    begun_sessions,
    confirm_caution,
    wait_for_sounds,
    wait_until,
)

pytestmark = pytest.mark.usefixtures("home")


def open_form(page: Page, site: str, path: str = "practise") -> None:
    with Store(record_file()) as store:
        confirm_caution(store)
    page.add_init_script(SOUND_COUNTER)
    page.goto(f"{site}/{path}")
    expect(page.locator("#conditions option")).not_to_have_count(0)


def test_only_useful_fields_are_shown(page: Page, site: str) -> None:
    open_form(page, site)
    page.get_by_text("More options").click()
    shown = {"#exchange": False, "#snr_db": True, "#watts": False, "#static_db": True}
    for field, visible in shown.items():
        expect(page.locator(field)).to_be_visible(visible=visible)
    page.get_by_label("What is said").select_option("over")
    expect(page.locator("#exchange")).to_be_visible()
    expect(page.locator("#exchange-hint")).to_contain_text("For example 59 ")
    page.get_by_label("Signal strength").select_option("without noise")
    for field in ("#snr_db", "#watts", "#path_snr_db", "#static_db", "#snr-sounds"):
        expect(page.locator(field)).to_be_hidden()
    page.get_by_label("Items").press("Enter")
    expect(page.locator("#answer-line")).to_be_focused()
    with Store(record_file()) as store:
        session = store.session(begun_sessions()[0])
    assert session is not None
    assert session.plan["conditions"]["snr_db"] is None
    page.goto(f"{site}/practise")  # the next form begins with the last choices
    expect(page.get_by_label("Signal strength")).to_have_value("no-noise")


@pytest.mark.parametrize("path", ["practise", "measure", "compare"])
def test_every_field_in_sight_is_explained(page: Page, site: str, path: str) -> None:
    open_form(page, site, path)
    page.get_by_text("More options").click()
    without: list[str] = page.evaluate("""() =>
      [...document.querySelectorAll("#options .field:not([hidden])")]
        .filter((field) => field.querySelector("input, select"))
        .filter((field) => !field.querySelector(".hint")?.textContent.trim())
        .map((field) => field.querySelector("label").textContent)""")
    # An empty choice keeps the value of the conditions, which their own sentence explains.
    assert set(without) <= {
        "Signal strength",
        "Fading",
        "Receiver",
        "Speech processing at the station",
        "Third",
    }


def test_an_snr_is_heard_strong_readable_and_at_the_edge(page: Page, site: str) -> None:
    open_form(page, site)
    buttons = page.locator("#snr-buttons button")
    expect(buttons).to_have_text(
        ["strong, +15 dB", "readable, +6 dB", "at the edge, 0 dB", "as entered"]
    )
    levels: list[float] = []

    def note_level(request: Request) -> None:
        if request.url.endswith("/api/listen"):
            levels.append(json.loads(request.post_data or "")["snr_db"])

    page.on("request", note_level)
    page.locator("#snr_db").fill("-4")
    for number in range(4):
        buttons.nth(number).click()
        wait_for_sounds(page, number + 1)
        wait_until(page, f"endedSoundCount > {number}")
    assert levels == [15, 6, 0, -4]
    expect(page.locator("#snr-says")).to_have_text("That was -4 dB.")
    assert violations(page) == []


def test_several_voices_are_chosen_one_after_another(page: Page, site: str) -> None:
    open_form(page, site)
    page.get_by_text("More options").click()
    page.get_by_label("Where the calls come from").select_option("unassigned")
    also = page.locator("select[name=also_voices]")
    expect(also).to_have_count(0)
    page.get_by_label("Who speaks").select_option("rivet")
    expect(also).to_have_count(1)
    page.get_by_label("Also speaks, voice 2").select_option("tin")
    page.get_by_label("Also speaks, voice 3").select_option("wren")
    expect(also).to_have_count(3)
    page.get_by_label("Also speaks, voice 2").select_option("")
    expect(also).to_have_count(2)
    assert violations(page) == []
    page.get_by_label("Items").press("Enter")
    expect(page.locator("#answer-line")).to_be_focused()
    with Store(record_file()) as store:
        session = store.session(begun_sessions()[0])
    assert session is not None
    assert session.plan["voices"] == ["rivet", "wren"]
    page.goto(f"{site}/practise")
    expect(page.locator("#voices")).to_have_value("rivet")
    expect(also.first).to_have_value("wren")
