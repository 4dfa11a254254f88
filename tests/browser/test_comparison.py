"""A blind comparison, from its first item to its result."""

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.comparison import Comparison
from tests.browser.session_steps import (
    answer_blindly,
    begin_in_record,
    open_session,
    stored_attempts,
)
from tests.drill.simulated_trainee import SimulatedTrainee

pytestmark = pytest.mark.usefixtures("home")


def complete_comparison(page: Page, site: str, count: int) -> str:
    """Go through a comparison of two operators; return the text of the result."""
    plan = Plan(seed=8, count=count, mix="unassigned")
    with Store(record_file()) as store:
        kind = Comparison.from_plan(plan, "voices", ["rivet", "tin"], store)
    session = begin_in_record(kind)
    open_session(page, site, f"compare?session={session}")
    # Blind: the page does not say which operator speaks next.
    assert "next: rivet" not in page.get_by_role("main").inner_text()
    answer_blindly(page, session, SimulatedTrainee(seed=2, x50_db=-8.0), kind.count)
    operators = [attempt.item.operator.name for attempt in stored_attempts(session)]
    assert set(operators) == {"rivet", "tin"}
    assert operators != sorted(operators)  # the two operators' items are interleaved
    result = page.locator("#result-content")
    expect(result).to_contain_text("rivet")
    expect(result).to_contain_text("tin")
    return result.inner_text()


@pytest.mark.slow
def test_short_comparison_claims_no_difference(page: Page, site: str) -> None:
    assert "better" not in complete_comparison(page, site, 3)


@pytest.mark.slow
def test_comparison_ends_with_a_difference_and_its_interval(page: Page, site: str) -> None:
    result = complete_comparison(page, site, 15)
    assert "dB" in result
    assert " to " in result
