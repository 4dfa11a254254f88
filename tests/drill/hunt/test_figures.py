import pytest

from drill.core.structuring import from_data, to_data
from drill.hunt.checking import VERDICTS
from drill.hunt.figures import (
    hunt_figures,
    rate_interval,
    summaries_by_power,
    summarise_hunts,
)
from drill.hunt.results import HuntResult
from tests.drill.hunt.checked import checked
from tests.drill.hunt.hunts import hunt, judged, stop

MADE = hunt(
    (
        judged(stop(0, times_s=(20.0, 10.0, 36.0, 14.0), overs=6), contact=0),
        judged(stop(1, replied=False, calls=4), expected_s=900.0),
        judged(stop(1, replied=False, calls=2)),
        judged(stop(2, replied=False, calls=0, knew_call=None)),
    ),
    (checked(), checked(theirs=None)),
)


def test_the_figures_of_a_hunt_equal_a_calculation_by_hand() -> None:
    figures = hunt_figures(MADE)
    assert (figures.stopped_at, figures.called, figures.right) == (3, 2, 1)
    assert figures.dry_s == pytest.approx(75.0)
    assert figures.reachable == 1.0
    assert figures.calls_before_leaving == 3
    assert figures.mending_share == pytest.approx(0.01)
    assert figures.overs == 6
    assert figures.noise_above_db == 6.0
    assert figures.callers_per_hour == 60.0


def test_an_empty_hunt_has_no_means() -> None:
    figures = hunt_figures(hunt())
    assert figures.dry_s is figures.overs is figures.calls_before_leaving is None
    assert (figures.stopped_at, figures.reachable) == (0, 0)
    summary = summarise_hunts([hunt()])
    assert summary.lost_share is None
    assert summary.per_hour.value == 0


def test_a_result_is_stored_and_read_back() -> None:
    assert from_data(HuntResult, to_data(MADE)) == MADE


def test_hunts_are_summarised_by_power() -> None:
    results = [MADE, hunt(watts=100.0, contacts=(checked(), checked(), checked()))]
    strong, weak = summaries_by_power(results)
    assert (strong.watts, weak.watts) == (100.0, 5.0)
    assert (strong.right, weak.right) == (3, 1)
    assert weak.verdicts == (1, 0, 0, 1, 0, 0, 0)
    total = summarise_hunts(results)
    assert (total.hunts, total.hours, total.right, total.logged) == (2, 2.0, 4, 5)
    assert sum(total.verdicts) == 5
    assert len(total.verdicts) == len(VERDICTS)
    assert total.lost_share is not None
    assert total.lost_share.value == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("count", "low", "high"),
    [  # 95 % limits of a Poisson mean from handbook tables; value from memory
        (0, 0.0, 3.689),
        (1, 0.0253, 5.572),
        (10, 4.795, 18.39),
        (20, 12.22, 30.89),
    ],
)
def test_limits_of_a_count_equal_the_handbooks(count: int, low: float, high: float) -> None:
    interval = rate_interval(count, 1.0)
    assert interval.low == pytest.approx(low, rel=2e-3)
    assert interval.high == pytest.approx(high, rel=2e-3)
    assert rate_interval(count, 2.0).high == pytest.approx(interval.high / 2)
