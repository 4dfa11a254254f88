"""A club evening: render, save, add and copy a set, with and without sound; compare people."""

import json
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.items.plan import compose_item
from drill.itemsets.read import read_item_set
from drill.itemsets.storage import set_folder
from drill.itemsets.write import write_item_set
from drill.records.store import Store
from tests.browser.accessibility import violations
from tests.browser.session_steps import (
    SHORT_PLAN,
    SOUND_COUNTER,
    confirm_caution,
    enter,
    play,
)
from tests.web.sample_record import fill_record

pytestmark = pytest.mark.usefixtures("home")


@pytest.fixture(autouse=True)
def nobody_by_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FAINTCALL_PERSON", "")


def open_club(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        confirm_caution(store)
    page.add_init_script(SOUND_COUNTER)
    page.goto(f"{site}/club")
    expect(page.locator("#people-table")).not_to_be_empty()


def write_set(folder: Path) -> Path:
    """Write the two items of SHORT_PLAN as a set."""
    assert [*write_item_set(SHORT_PLAN, folder, workers=1)] == [0, 1, 2]
    return folder


def test_a_set_is_made_saved_and_compared(page: Page, site: str) -> None:
    open_club(page, site)
    page.locator("#name").fill("november evening")
    page.locator("#count").fill("2")
    page.locator("#voices").select_option("rivet")
    page.locator("#track_s").fill("1")
    expect(page.locator("#exchange")).to_be_hidden()  # a single call has no exchange
    page.locator("#count").press("Enter")
    expect(page.locator("#status")).to_contain_text("november evening is finished.")
    folder = set_folder("november evening")
    assert read_item_set(folder).plan.count == 2
    assert {"track.flac", "sheet.html", "key.html"} <= {path.name for path in folder.iterdir()}
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as zip: november evening").click()
    assert download.value.suggested_filename == "november evening.zip"
    page.get_by_role("button", name="Compare everybody: november evening").click()
    expect(page.locator("#scores")).to_contain_text("Nobody on this computer")
    assert violations(page) == []
    page.get_by_role("button", name="Delete november evening").click()
    page.get_by_role("button", name="Delete november evening for good").click()
    expect(page.locator("#sets-folder")).to_have_text("None yet.")
    assert not folder.exists()


def test_making_a_set_is_cancelled_and_continued(page: Page, site: str) -> None:
    open_club(page, site)
    page.locator("#name").fill("long")
    page.locator("#count").fill("60")
    page.locator("#track").uncheck()
    page.locator("#count").press("Enter")
    page.get_by_role("button", name="Cancel (finished items stay)").click()
    expect(page.locator("#status")).to_contain_text("Cancelled.")
    expect(page.locator("#sets")).to_contain_text("of 60 items")
    manifest = set_folder("long") / "manifest.jsonl"
    finished = len(manifest.read_text().splitlines()) if manifest.exists() else 0
    assert finished < 60
    page.get_by_role("button", name="Continue: long").click()
    expect(page.locator("#status")).to_contain_text("long is finished.")
    assert len(manifest.read_text().splitlines()) == 60


def test_a_folder_is_added_and_copied_by_ear_in_the_room(
    page: Page, site: str, tmp_path: Path
) -> None:
    folder = write_set(tmp_path / "friday")
    open_club(page, site)
    page.get_by_role("button", name="Add the set").click()
    expect(page.locator("#add-problem")).to_contain_text("Choose the zip file")
    page.locator("#set-folder").set_input_files(folder)
    expect(page.locator("#added-name")).to_have_value("friday")
    page.get_by_role("button", name="Add the set").click()
    expect(page.locator("#status")).to_contain_text("friday is added.")
    page.get_by_role("button", name="Type what the room plays: friday").click()
    expect(page.locator("#answer-line")).to_be_focused()
    enter(page)
    expect(page.locator("#give-up")).to_be_visible()  # the item is prepared
    expect(page.locator("#ear")).to_have_text("In the room")
    page.keyboard.type("q")
    page.reload()  # the page still plays no sound
    expect(page.locator("#answer-line")).to_have_value("q")
    expect(page.locator("#ear")).to_have_text("In the room")
    page.locator("#answer-line").clear()
    enter(page, compose_item(SHORT_PLAN, 0).message.fields[0].text.lower())
    expect(page.locator("#verdict")).to_contain_text("Right")
    assert page.evaluate("soundCount") == 0
    page.goto(f"{site}/club")
    page.get_by_role("button", name="Compare everybody: friday").click()
    expect(page.locator("#scores")).to_contain_text("1 of 1")


def test_a_set_is_copied_with_its_sound(page: Page, site: str) -> None:
    write_set(set_folder("friday"))
    open_club(page, site)
    page.get_by_role("button", name="Type what you hear: friday").click()
    expect(page.locator("#answer-line")).to_be_focused()
    play(page)
    expect(page.locator("#ear")).to_have_text("Sounding")


def test_people_are_added_under_their_names_and_removed(
    page: Page, site: str, tmp_path: Path
) -> None:
    fill_record()
    page.goto(f"{site}/history")
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as JSON lines").click()
    download.value.save_as(tmp_path / "anna.jsonl")
    assert json.loads((tmp_path / "anna.jsonl").read_text().splitlines()[0])
    open_club(page, site)
    page.locator("#people-files").set_input_files(tmp_path / "anna.jsonl")
    expect(page.get_by_label("Whose record is anna.jsonl?")).to_have_value("Anna")
    assert violations(page) == []
    page.get_by_role("button", name="Add the files").click()
    expect(page.locator("#people-table")).to_contain_text("Anna")
    page.get_by_text("Remove somebody").click()
    page.get_by_role("button", name="Remove Anna").click()
    page.get_by_role("button", name="Delete everything that Anna has answered, for good").click()
    expect(page.locator("#people-table")).not_to_contain_text("Anna")
