"""The figures of a report."""

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from drill.psychometrics.placement import TRAINING_TARGETS, Placement
from drill.records.store import Store
from drill.report.figures import Report, build_report, median_interval, practice_seconds
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.training import Training
from tests.drill.report.sample_record import REPORT_TIME, make_plan, save_session
from tests.drill.simulated_trainee import START, SimulatedTrainee


def test_the_figures_come_from_the_blocks(five_blocks: Report) -> None:
    (group,) = five_blocks.groups
    assert [estimate.n for estimate in group.estimates] == [40] * 5
    assert group.pooled.n == 200
    mean_db = np.mean([estimate.x50_db.value for estimate in group.estimates])
    assert group.pooled.x50_db.low < mean_db
    assert group.trend is not None
    # The simulated trainee's threshold does not change.
    assert group.trend.per_week_db.low < 0 < group.trend.per_week_db.high
    assert sum(snr_bin.n for snr_bin in group.bins) == 200
    assert five_blocks.answered == 5 * 40 + 5
    assert five_blocks.sessions == 5
    assert five_blocks.hours == pytest.approx((205 * 8 + 5 * 7) / 3600, rel=0.05)
    character, cost = five_blocks.costs["character"][0]
    assert character == "Q" or not cost.has_enough_data


def test_practice_never_changes_a_threshold(tmp_path: Path) -> None:
    with Store(tmp_path / "record.sqlite") as store:
        save_session(store, Measurement.from_plan(make_plan(1), store), SimulatedTrainee(), 0)
        before = build_report(store, now=REPORT_TIME).groups[0].pooled.x50_db
        training = Training(
            plan=make_plan(2), placement=Placement(seed=2, targets=TRAINING_TARGETS)
        )
        save_session(store, training, SimulatedTrainee(x50_db=5.0), 1)
        after = build_report(store, now=REPORT_TIME)
        assert after.groups[0].pooled.x50_db == before
        assert after.answered == 45 + 40


def test_practice_time_limits_the_gaps_between_answers() -> None:
    times = [START, START + timedelta(seconds=10), START + timedelta(hours=3)]
    answers = [("session", time.isoformat()) for time in times]
    assert practice_seconds(answers) == pytest.approx(15 + 10 + 60)


def test_the_median_has_an_interval_from_order_statistics() -> None:
    """For 25 values the limits are ranks 8 and 18: David and Nagaraja, Order Statistics."""
    interval = median_interval(range(1, 26))
    assert (interval.value, interval.low, interval.high) == (13, 8, 18)
