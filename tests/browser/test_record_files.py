"""The record as a file on the page: it is saved, and added to an empty record."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from tests.drill.session.example_kinds import EXAMPLE_KINDS
from tests.drill.simulated_trainee import record_session

pytestmark = pytest.mark.usefixtures("home")


@pytest.mark.parametrize("name", ["CSV", "JSON lines"])
def test_a_saved_record_is_added_to_an_empty_one(
    page: Page, site: str, tmp_path: Path, name: str
) -> None:
    with Store(record_file()) as store:
        record_session(store, EXAMPLE_KINDS["practice"], most=3)
    page.goto(f"{site}/history")
    with page.expect_download() as started:
        page.get_by_role("button", name=f"Save as {name}").press("Enter")
    saved = tmp_path / started.value.suggested_filename
    started.value.save_as(saved)
    record_file().unlink()
    page.get_by_label("Add a file from another computer").set_input_files(saved)
    expect(page.get_by_role("status")).to_contain_text("Added 3 of 3 answers")


def test_another_file_is_refused(page: Page, site: str, tmp_path: Path) -> None:
    other = tmp_path / "notes.txt"
    other.write_text("no record")
    page.goto(f"{site}/history")
    page.get_by_label("Add a file from another computer").set_input_files(other)
    expect(page.get_by_role("status")).to_contain_text("with the extension .csv or .jsonl")
