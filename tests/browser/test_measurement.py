"""A measuring block in a real browser: a simulated listener types, the end tells the threshold."""

import re

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.blocks import measuring
from tests.drill.typist import Typist
from tests.browser.session_steps import begun, copied_through, kept
from tests.browser.page_states import COUNTED

pytestmark = pytest.mark.usefixtures("home")
X50 = re.compile(
    r"x50[^\n]*?([-\u2212+]?\d+\.\d) dB[^\n]*?([-\u2212+]?\d+\.\d) to ([-\u2212+]?\d+\.\d)"
)


def block(page: Page, site: str, count: int) -> tuple[float, float, float]:
    """Go through a block; return x50 and its interval, as the page tells them."""
    plan = Plan(seed=3, count=count, mix="unassigned", voices=("rivet", "tin"))
    with Store(record_file()) as store:
        course = measuring(plan, store)
    identity = begun(course)
    page.add_init_script(COUNTED)
    page.goto(f"{site}/measure?go={identity}")
    copied_through(page, identity, Typist(seed=5, x50_db=-7.0), course.count)
    told = page.locator("#told")
    expect(told).to_contain_text("x50")
    found = X50.search(told.inner_text())
    assert found, told.inner_text()
    attempts = kept(identity)
    assert len(attempts) == course.count
    assert all(one.answer.replays == 0 for one in attempts)
    # The levels follow the answers: they are not all the same.
    assert len({one.item.conditions.snr_db for one in attempts}) > 2
    x50, low, high = (float(one.replace("\u2212", "-")) for one in found.groups())
    return x50, low, high


def test_a_short_block_ends_with_a_wide_interval(page: Page, site: str) -> None:
    x50, low, high = block(page, site, 10)
    assert low < x50 < high
    assert high - low > 2
    expect(page.locator("#told svg")).to_have_count(1)


@pytest.mark.slow
def test_a_block_finds_the_listener(page: Page, site: str) -> None:
    """A call of five or six characters is copied whole in half of the cases well above -7 dB.

    0.5 = p**5.5 with p the logistic curve of the typist, slope 0.5: at -7 + 4.0 dB.
    """
    _, low, high = block(page, site, 40)
    assert low < -3.0 < high
