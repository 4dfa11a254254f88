"""A blind comparison in a real browser, from its first item to what it tells at the end."""

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.blocks import comparing
from tests.drill.typist import Typist
from tests.browser.session_steps import begun, copied_through, kept
from tests.browser.page_states import COUNTED

pytestmark = pytest.mark.usefixtures("home")


def compared(page: Page, site: str, count: int) -> str:
    """Go through a comparison of two voices; return what is told at the end."""
    plan = Plan(seed=8, count=count, mix="unassigned")
    with Store(record_file()) as store:
        course = comparing(plan, "voices", ["rivet", "tin"], store)
    identity = begun(course)
    page.add_init_script(COUNTED)
    page.goto(f"{site}/compare?go={identity}")
    expect(page.locator("#copy")).to_be_focused()
    # Blind: the order is told nowhere, and no sentence names the present voice.
    assert "next: rivet" not in page.get_by_role("main").inner_text()
    copied_through(page, identity, Typist(seed=2, x50_db=-8.0), course.count)
    spoken = [one.item.operator.name for one in kept(identity)]
    assert {"rivet", "tin"} == set(spoken)
    assert spoken != sorted(spoken)  # interleaved
    told = page.locator("#told")
    expect(told).to_contain_text("rivet")
    expect(told).to_contain_text("tin")
    return told.inner_text()


def test_a_short_comparison_claims_no_difference(page: Page, site: str) -> None:
    told = compared(page, site, 3)
    assert "better" not in told


@pytest.mark.slow
def test_a_comparison_ends_with_a_difference_and_its_interval(page: Page, site: str) -> None:
    told = compared(page, site, 15)
    assert "dB" in told
    assert " to " in told
