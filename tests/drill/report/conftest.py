"""A report that several tests share."""

import pytest

from drill.records.store import Store
from drill.report.figures import Report, build_report
from drill.session.kinds.measurement import Measurement
from tests.drill.report.sample_record import REPORT_TIME, make_plan, save_session
from tests.drill.simulated_trainee import SimulatedTrainee


@pytest.fixture(scope="session")
def five_blocks(tmp_path_factory: pytest.TempPathFactory) -> Report:
    """Report of five measurement blocks, a week apart, by a trainee who does not change."""
    with Store(tmp_path_factory.mktemp("record") / "record.sqlite") as store:
        for block in range(5):
            trainee = SimulatedTrainee(seed=block, x50_db=-7.0, hard={"Q": 4.0})
            measurement = Measurement.from_plan(make_plan(block), store)
            save_session(store, measurement, trainee, 7 * block)
        return build_report(store, now=REPORT_TIME)
