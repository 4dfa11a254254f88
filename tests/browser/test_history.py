"""The history page, by keyboard."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from tests.browser.session_steps import begin_practice, enter, open_session, stored_attempts
from tests.web.sample_record import fill_record

pytestmark = pytest.mark.usefixtures("home")


def test_empty_record_links_to_practice(page: Page, site: str) -> None:
    page.goto(f"{site}/history")
    main = page.get_by_role("main")
    expect(main).to_contain_text("Nothing is recorded yet.")
    expect(main.get_by_role("link", name="Practise")).to_have_attribute("href", "/practise")


def test_sessions_are_listed_newest_first_with_their_answers(page: Page, site: str) -> None:
    sessions = fill_record()
    page.goto(f"{site}/history")
    expect(page.get_by_role("status")).to_have_text("6 sessions, newest first. 2 can continue.")
    table = page.get_by_role("table", name="Sessions, newest first")
    starts = table.locator("time").all_text_contents()
    assert len(starts) == 6
    assert starts == sorted(starts, reverse=True)
    expect(table.get_by_role("link", name="Answers").first).to_have_text("Answers")
    expect(page.get_by_role("main").get_by_role("link", name="Hunt")).to_be_visible()
    # Each link names its session and leads to the page of its kind.
    links = table.get_by_role("link", name="Continue")
    assert links.evaluate_all("all => all.map(a => a.pathname + a.search)") == [
        f"/measure?session={sessions['open block']}",
        f"/practise?session={sessions['open practice']}",
    ]
    table.locator(f"a[href='/history?session={sessions['practice']}']").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Answers: Practice of")
    compare_answers_with_record(page, sessions["practice"])
    page.get_by_role("link", name="All sessions").focus()
    page.keyboard.press("Enter")
    expect(table).to_be_visible()


def compare_answers_with_record(page: Page, session: str) -> None:
    attempts = stored_attempts(session)
    rows = page.get_by_role("table", name="Answers in order").locator("tbody tr")
    expect(rows).to_have_count(len(attempts))
    cells = rows.evaluate_all("all => all.map(r => [...r.cells].map(c => c.innerText))")
    for row, attempt in zip(cells, attempts, strict=True):
        assert row[1] == ("right" if attempt.right else "wrong")
        for score in attempt.scores:
            assert f"{score.name} {' '.join(score.sent)}" in row[2]
    # Differences are marked by more than a colour.
    style: dict[str, Any] = page.locator(".characters mark").first.evaluate(
        "e => ({line: getComputedStyle(e).textDecorationLine, "
        "weight: getComputedStyle(e).fontWeight})"
    )
    assert style == {"line": "underline", "weight": "700"}


@pytest.mark.parametrize("width", [1280, 360])
def test_answers_fit_the_window_and_a_sound_that_plays_is_shown(
    page: Page, site: str, width: int
) -> None:
    sessions = fill_record()
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(f"{site}/history?session={sessions['practice']}")
    button = page.get_by_role("button", name="Item 1: clean")
    expect(button).to_be_visible()
    frame = page.locator(".scrollable")
    assert frame.evaluate("e => e.scrollWidth <= e.clientWidth")
    top = button.evaluate("e => e.getBoundingClientRect().top + scrollY")
    button.click()
    expect(page.locator(".sounding-line")).to_have_text("Sounding")
    expect(button).to_have_class("play sounding")
    expect(page.get_by_role("main")).to_contain_text("on first hearing")
    assert button.evaluate("e => e.getBoundingClientRect().top + scrollY") == top
    expect(page.locator(".sounding-line")).to_have_text("Silent", timeout=30_000)
    expect(button).to_have_class("play")


def test_the_sessions_fit_a_narrow_window(page: Page, site: str) -> None:
    fill_record()
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto(f"{site}/history")
    expect(page.get_by_role("link", name="Answers").first).to_be_visible()
    assert page.locator(".scrollable").evaluate("e => e.scrollWidth <= e.clientWidth")


def test_a_session_that_was_stopped_is_discarded(page: Page, site: str) -> None:
    session = begin_practice()
    open_session(page, site, f"practise?session={session}")
    enter(page, "s")
    page.get_by_role("button", name="Discard this session").click()
    page.get_by_role("button", name="Delete it with its answers, for good").click()
    page.wait_for_url(f"{site}/practise")
    with Store(record_file()) as store:
        assert store.session(session) is None


def test_open_measurement_does_not_reveal_its_answers(page: Page, site: str) -> None:
    sessions = fill_record()
    page.goto(f"{site}/history?session={sessions['open block']}")
    expect(page.get_by_role("main")).to_contain_text("shown when the session is finished")
    expect(page.get_by_role("link", name="Continue this session")).to_have_attribute(
        "href", f"/measure?session={sessions['open block']}"
    )
    expect(page.get_by_role("table")).to_have_count(0)
