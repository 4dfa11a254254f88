"""A measurement: a simulated listener types, the result gives the threshold."""

import re

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.measurement import Measurement
from tests.browser.session_steps import (
    answer_blindly,
    begin_in_record,
    open_session,
    stored_attempts,
)
from tests.drill.simulated_trainee import SimulatedTrainee

pytestmark = pytest.mark.usefixtures("home")
X50 = re.compile(
    r"x50[^\n]*?([-\u2212+]?\d+\.\d) dB[^\n]*?([-\u2212+]?\d+\.\d) to ([-\u2212+]?\d+\.\d)"
)


def complete_measurement(page: Page, site: str, count: int) -> tuple[float, float, float]:
    """Go through a measurement; return x50 and its interval from the page."""
    plan = Plan(seed=3, count=count, mix="unassigned", voices=("rivet", "tin"))
    with Store(record_file()) as store:
        kind = Measurement.from_plan(plan, store)
    session = begin_in_record(kind)
    open_session(page, site, f"measure?session={session}")
    answer_blindly(page, session, SimulatedTrainee(seed=5, x50_db=-7.0), kind.count)
    result = page.locator("#result-content")
    expect(result).to_contain_text("x50")
    match = X50.search(result.inner_text())
    assert match, result.inner_text()
    attempts = stored_attempts(session)
    assert len(attempts) == kind.count
    assert all(attempt.answer.replays == 0 for attempt in attempts)
    # The SNR follows the answers, so it varies.
    assert len({attempt.item.conditions.snr_db for attempt in attempts}) > 2
    x50, low, high = (float(number.replace("\u2212", "-")) for number in match.groups())
    return x50, low, high


@pytest.mark.slow
def test_short_measurement_ends_with_a_wide_interval(page: Page, site: str) -> None:
    x50, low, high = complete_measurement(page, site, 10)
    assert low < x50 < high
    assert high - low > 2
    expect(page.locator("#result-content").get_by_role("img")).to_have_count(1)
    ruler = page.locator("#result-ruler").get_by_role("img")
    expect(ruler).to_have_accessible_name(re.compile(r"x50 is at .* 5 W at -3\.0 dB\.$"))


@pytest.mark.slow
def test_measurement_finds_the_threshold_of_the_listener(page: Page, site: str) -> None:
    """Half of the calls of five or six characters are right well above -7 dB.

    0.5 = p**5.5, with p the listener's logistic curve of slope 0.5, holds at -7 + 4.0 dB.
    """
    _, low, high = complete_measurement(page, site, 40)
    assert low < -3.0 < high
