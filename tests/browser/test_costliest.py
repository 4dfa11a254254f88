"""The end of practice on the page: the labels that cost most, by keyboard."""

import re

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.practice import Practice
from tests.browser.session_steps import (
    WRONG,
    begin_practice,
    enter,
    open_session,
    play,
    wait_for_sounds,
)
from tests.drill.simulated_trainee import SimulatedTrainee, record_session

pytestmark = pytest.mark.usefixtures("home")


def test_the_costliest_labels_can_be_heard_and_practised(page: Page, site: str) -> None:
    plan = Plan(seed=3, count=150, mix="unassigned", voices=("birch",), alternates=0.0)
    with Store(record_file()) as store:
        trainee = SimulatedTrainee(x50_db=-2.0, hard={"E": 8.0})
        record_session(store, Practice(plan=plan), trainee)
    open_session(page, site, f"practise?session={begin_practice()}")
    play(page)
    enter(page, WRONG)
    expect(page.locator("#verdict")).to_contain_text("Not right")
    enter(page)
    wait_for_sounds(page, 2)
    enter(page, ".")
    expect(page.locator("#verdict")).to_contain_text("Given up")
    enter(page)
    expect(page.get_by_role("heading", name="What cost you most")).to_be_visible()
    for number, sound in enumerate(("clean", "in noise"), 3):
        page.get_by_role("button", name=re.compile(f"echo.*: {sound}")).press("Enter")
        wait_for_sounds(page, number)
    page.get_by_role("button", name="Practise these").press("Enter")
    expect(page.get_by_role("heading", name="Item 1 of 12")).to_be_visible()
