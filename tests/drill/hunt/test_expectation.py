"""The simulated time until a station answers."""

from dataclasses import replace
from functools import cache

from drill.contact.air import samples
from drill.hunt.band import Holder, compose_band
from drill.hunt.expectation import TRIALS, ExpectedTimes
from drill.hunt.results import LONGEST_EXPECTED_S, ExpectedTime
from tests.drill.hunt.simple_hunter import make_setup

SETUP = make_setup(minutes=20.0, watts=20.0)
AT = samples(120.0)


@cache
def quiet_holder() -> Holder:
    """Return a station that hears 100 W well and has few callers."""
    present = [h for h in compose_band(SETUP, 0).holders if h.starts_s < 0 and h.stops_s > 600]
    return max(
        (h for h in present if h.callers_per_hour < 60), key=lambda h: h.far_db(100.0, 120.0)
    )


def expected(holder: Holder, watts: float = 20.0) -> ExpectedTime | None:
    return ExpectedTimes(replace(SETUP, watts=watts)).expected_time(holder, AT)


def test_a_station_that_hears_well_answers_within_a_minute() -> None:
    result = expected(quiet_holder())
    assert result is not None
    assert 3 < result.low_s <= result.mean_s <= result.high_s < LONGEST_EXPECTED_S
    assert result.mean_s < 60
    assert result.n == TRIALS
    assert expected(quiet_holder()) == result


def test_less_power_lengthens_the_time_until_there_is_none() -> None:
    strong, weak = expected(quiet_holder(), 100.0), expected(quiet_holder(), 1.0)
    assert strong is not None
    assert weak is None or weak.mean_s >= strong.mean_s
    assert expected(quiet_holder(), 0.001) is None


def test_callers_lengthen_the_time() -> None:
    alone = replace(quiet_holder(), callers_per_hour=1.0)
    wanted = replace(quiet_holder(), callers_per_hour=150.0)
    quick, slow = expected(alone), expected(wanted)
    assert quick is not None
    assert slow is None or slow.mean_s > quick.mean_s


def test_a_station_that_is_not_there_has_no_time() -> None:
    assert expected(replace(quiet_holder(), starts_s=500.0)) is None
    assert expected(replace(quiet_holder(), stops_s=60.0)) is None


def test_the_order_of_questions_does_not_change_the_answers() -> None:
    times = ExpectedTimes(SETUP)
    late, early = (times.expected_time(quiet_holder(), samples(s)) for s in (400.0, 120.0))
    assert early == expected(quiet_holder())
    assert late == ExpectedTimes(SETUP).expected_time(quiet_holder(), samples(400.0))
