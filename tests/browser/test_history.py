"""The history page, by keyboard in a real browser."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from tests.web.sample_record import fill


@pytest.mark.usefixtures("home")
def test_an_empty_record_leads_on(page: Page, site: str) -> None:
    page.goto(f"{site}/history")
    main = page.get_by_role("main")
    expect(main).to_contain_text("Nothing is recorded yet.")
    expect(main.get_by_role("link", name="Practise")).to_have_attribute("href", "/practise")


@pytest.mark.usefixtures("home")
def test_sittings_newest_first_and_the_answers_of_one(page: Page, site: str) -> None:
    names = fill()
    page.goto(f"{site}/history")
    told = page.get_by_role("status")
    expect(told).to_have_text("6 sittings, newest first. 2 can be gone on with.")
    table = page.get_by_role("table", name="Sittings, newest first")
    days = table.locator("time").all_text_contents()
    assert len(days) == 6
    assert days == sorted(days, reverse=True)
    # Each link says which sitting it is of, and where it goes on.
    on = table.get_by_role("link", name="Go on").evaluate_all("all => all.map(a => a.search)")
    assert on == [f"?go={names['open block']}", f"?go={names['open practice']}"]
    hrefs = table.get_by_role("link", name="Go on").evaluate_all("all => all.map(a => a.pathname)")
    assert hrefs == ["/measure", "/practise"]
    link = table.locator(f"a[href='/history?of={names['practice']}']")
    link.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Answers: practice of")
    _the_answers_are_those_of_the_record(page, names["practice"])
    page.get_by_role("link", name="All sittings").focus()
    page.keyboard.press("Enter")
    expect(table).to_be_visible()


def _the_answers_are_those_of_the_record(page: Page, identity: str) -> None:
    with Store(record_file()) as store:
        attempts = store.attempts(identity)
    rows = page.get_by_role("table", name="Answers in their order").locator("tbody tr")
    expect(rows).to_have_count(len(attempts))
    shown = rows.evaluate_all("all => all.map(r => [...r.cells].map(c => c.innerText))")
    for row, attempt in zip(shown, attempts, strict=True):
        assert row[1] == ("right" if attempt.right else "wrong")
        for score in attempt.scores:
            assert f"{score.name} {' '.join(score.sent)}" in row[2]
    # What differs is marked by more than a colour.
    wrong: dict[str, Any] = page.locator(".characters mark").first.evaluate(
        "e => ({line: getComputedStyle(e).textDecorationLine, w: getComputedStyle(e).fontWeight})"
    )
    assert wrong == {"line": "underline", "w": "700"}


@pytest.mark.usefixtures("home")
def test_an_open_block_keeps_its_answers_to_itself(page: Page, site: str) -> None:
    names = fill()
    page.goto(f"{site}/history?of={names['open block']}")
    expect(page.get_by_role("main")).to_contain_text("shown when it is finished")
    expect(page.get_by_role("link", name="Go on with it")).to_have_attribute(
        "href", f"/measure?go={names['open block']}"
    )
    expect(page.get_by_role("table")).to_have_count(0)
