"""The debrief of a whole hunt: its figures add up and can be stored."""

import pytest

from drill.contact.air import samples
from drill.core.structuring import from_data, to_data
from drill.hunt.debrief import hunt_result
from drill.hunt.judging import nothing_expected
from drill.hunt.live import LiveHunt
from drill.hunt.results import HuntResult
from tests.drill.hunt.simple_hunter import SimpleHunter, make_setup
from tests.drill.hunt.test_judging import by_number, hunted


def test_the_figures_add_up() -> None:
    live = hunted()
    result = hunt_result(live, by_number)
    assert result.seconds == pytest.approx(live.now / samples(1.0), abs=0.1)
    assert sum(result.times_s) == pytest.approx(result.seconds, abs=1.0)
    assert (result.right, result.logged) == (1, 1)
    assert sum(quarter.right for quarter in result.quarters) == result.right
    assert sum(result.points.each) == result.points.points
    assert result.dial[-1].hz == live.dial_hz
    assert all(a.at_s < b.at_s for a, b in zip(result.dial, result.dial[1:], strict=False))
    assert from_data(HuntResult, to_data(result)) == result


def test_advice_follows_from_the_models_expectation() -> None:
    kinds = [advice.kind for advice in hunt_result(hunted(), by_number).advice]
    assert "leave-sooner" in kinds
    assert hunt_result(hunted(), nothing_expected).advice == ()


def test_a_hunt_without_an_act_has_a_result() -> None:
    live = LiveHunt(make_setup(minutes=1.0))
    live.advance(samples(61))
    assert live.ended
    result = hunt_result(live, nothing_expected)
    assert (result.right, result.logged, result.stops) == (0, 0, ())
    assert result.times_s[0] == 60.0
    assert result.points.score == 0


@pytest.mark.parametrize("watts", [100.0, 5.0])
def test_a_hunt_ends_when_the_time_is_over(watts: float) -> None:
    live = LiveHunt(make_setup(minutes=4.0, watts=watts))
    hunter = SimpleHunter(live, live.act, live.advance)
    for number in hunter.strongest():
        if not live.ended:
            hunter.work(number, patience_s=30.0)
    result = hunt_result(live, nothing_expected)
    assert result.seconds == 240.0
    assert sum(result.times_s) == pytest.approx(240.0, abs=1.0)
    assert len(result.contacts) >= result.right > 0
