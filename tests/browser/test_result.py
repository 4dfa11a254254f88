"""The first part of a session's result: score, lamps, the week before, and the answers."""

from datetime import UTC, datetime

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.practice import Practice
from tests.browser.session_steps import confirm_caution, enter, open_session, play, wait_for_sounds
from tests.drill.simulated_trainee import START, SimulatedTrainee, record_session

pytestmark = pytest.mark.usefixtures("home")
COUNT = 40


def practise_for_two_weeks() -> str:
    """Fill the record with a week of poor and one of good practice; return the open session."""
    today = (datetime.now(UTC) - START).days
    with Store(record_file()) as store:
        confirm_caution(store)
        for seed, day, x50_db in ((1, today - 9, -4.0), (2, today - 2, -14.0)):
            record_session(store, make_practice(seed), SimulatedTrainee(seed, x50_db), day=day)
        last = SimulatedTrainee(3, -14.0)
        return record_session(store, make_practice(3), last, day=today, most=COUNT - 1)


def make_practice(seed: int) -> Practice:
    return Practice(plan=Plan(seed=seed, count=COUNT, mix="unassigned", voices=("rivet",)))


def test_a_result_shows_every_answer_and_the_week_before(page: Page, site: str) -> None:
    session = practise_for_two_weeks()
    open_session(page, site, f"practise?session={session}")
    play(page)
    enter(page, ".")
    expect(page.locator("#verdict")).to_be_visible()
    enter(page)
    expect(page.locator("#result-go")).to_be_focused()
    with Store(record_file()) as store:
        right = [attempt.right for attempt in store.attempts(session)]
    assert len(right) == COUNT
    expect(page.get_by_role("heading", name=f"{sum(right)} of {COUNT}")).to_be_visible()
    lamps = page.locator("#result-lamps .string i")
    assert lamps.evaluate_all("all => all.map((e) => e.className === 'lit')") == right
    expect(page.locator("#result-lead")).to_contain_text("the week before it was")
    expect(page.locator("#result-note")).to_contain_text("from 80 items this week and 40")
    assert page.title() == f"{sum(right)} of {COUNT} - faintcall"
    page.get_by_text(f"All {COUNT} answers").press("Enter")
    answers = page.locator("#result-content .all button")
    expect(answers).to_have_count(COUNT)
    answers.last.press("Enter")
    wait_for_sounds(page, 2)


def test_lamps_stay_apart_in_a_narrow_window(page: Page, site: str) -> None:
    """Forty lamps, the largest number that is drawn, fit a window of 360 CSS pixels."""
    page.set_viewport_size({"width": 360, "height": 740})
    open_session(page, site, f"practise?session={practise_for_two_weeks()}")
    play(page)
    enter(page, ".")
    expect(page.locator("#verdict")).to_be_visible()
    enter(page)
    expect(page.locator("#result-go")).to_be_focused()
    gaps = page.locator("#result-lamps .string i").evaluate_all(
        "all => all.slice(1).map((e, n) => "
        "e.getBoundingClientRect().left - all[n].getBoundingClientRect().right)"
    )
    assert min(gaps) > -2
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
