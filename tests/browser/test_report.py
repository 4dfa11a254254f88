"""The report page: sentences, pictures, tables, and figures that are not known yet."""

import re

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.kinds.practice import Practice
from tests.drill.machine_copies import copy_without_sound
from tests.drill.simulated_trainee import record_session
from tests.web.sample_record import fill_record, sample_plan

pytestmark = pytest.mark.usefixtures("home")


def test_empty_record_is_reported_as_empty(page: Page, site: str) -> None:
    page.goto(f"{site}/report")
    expect(page.get_by_role("main")).to_contain_text("Nothing is recorded yet")
    expect(page.get_by_role("img")).to_have_count(0)


def test_short_record_says_what_is_missing(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        record_session(store, Practice(plan=sample_plan(3, 3)), day=1)
    page.goto(f"{site}/report")
    main = page.get_by_role("main")
    expect(main).to_contain_text("There is no measurement yet")
    expect(main).to_contain_text("There are too few answers")


@pytest.mark.slow
def test_every_picture_has_its_figures_in_its_name_and_a_table(page: Page, site: str) -> None:
    fill_record()
    page.goto(f"{site}/report")
    expect(page.get_by_role("heading", name="Response time")).to_be_visible()
    expect(page.locator("#headlines li").first).to_contain_text("You copy half of the calls at")
    sections = page.locator("#drawn > section")
    pictures = 0
    for number in range(sections.count()):
        section = sections.nth(number)
        picture = section.get_by_role("img")
        if picture.count():
            pictures += 1
            expect(picture).to_have_accessible_name(re.compile(r"\d.*\.$"))
            expect(section.locator("details table")).to_have_count(1)
    assert pictures > 3
    # By keyboard: a table opened.
    summary = page.get_by_text("Table: Cost in dB by character")
    table = page.get_by_role("table", name="Cost in dB by character")
    expect(table).to_be_hidden()
    summary.press("Enter")
    expect(table).to_be_visible()
    page.get_by_text("Save as files").press("Enter")
    expect(page.get_by_text("faintcall report --to DIR")).to_be_visible()


@pytest.mark.slow
def test_letters_of_pictures_stay_within_them_in_a_narrow_window(page: Page, site: str) -> None:
    """The drawing stretches and its letters do not."""
    fill_record()
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto(f"{site}/report")
    expect(page.get_by_role("heading", name="Response time")).to_be_visible()
    outside = page.evaluate("""() => [...document.querySelectorAll(".pic .at")].filter((e) => {
      const box = e.getBoundingClientRect();
      return box.left < 0 || box.right > innerWidth;
    }).map((e) => e.textContent)""")
    assert outside == []
    sizes = page.evaluate("""() => [...new Set([...document.querySelectorAll(".pic .at")]
      .map((e) => parseFloat(getComputedStyle(e).fontSize)))]""")
    assert min(sizes) >= 16


@pytest.mark.slow
def test_a_machine_copies_the_same_calls_on_request(
    page: Page, site: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy_without_sound(monkeypatch)
    monkeypatch.setattr("drill.web.api.machine_copies.REQUEST_S", 0.1)
    fill_record()
    page.goto(f"{site}/report")
    page.get_by_role("button", name="Let the recogniser copy them").click()
    curve = page.locator("section[aria-labelledby=section-curve-1]")
    expect(curve).to_contain_text("silent 1")
    expect(curve).to_contain_text("of the same calls: not a human score")
    expect(page.get_by_role("button", name="Let the recogniser copy them")).to_be_hidden()
