"""Three strengths around the trainee's own threshold, or around the start of a measurement."""

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.psychometrics.grid import Prior
from drill.records.store import Store
from drill.session.blocks import measurement_blocks
from drill.session.kinds.measurement import Measurement
from drill.session.snr_examples import READABLE_ABOVE_EDGE_DB, snr_examples
from tests.drill.simulated_trainee import SimulatedTrainee, record_session


def test_without_a_measurement_the_edge_is_the_prior_mean(home: object) -> None:
    with Store(record_file()) as store:
        strong, readable, edge = snr_examples(store)
    assert edge.snr_db == Prior().threshold_mean_db
    assert strong.snr_db > readable.snr_db > edge.snr_db
    assert "A measurement begins near" in edge.says


def test_the_edge_is_the_threshold_of_the_last_measurement(home: object) -> None:
    with Store(record_file()) as store:
        plan = Plan(seed=3, count=30, mix="unassigned", voices=("rivet",))
        kind = Measurement.from_plan(plan, store)
        record_session(store, kind, SimulatedTrainee(x50_db=4.0))
        strong, readable, edge = snr_examples(store)
        (block,) = measurement_blocks(store)
        assert edge.snr_db == round(block.estimate().x50_db.value)
    assert readable.snr_db == edge.snr_db + READABLE_ABOVE_EDGE_DB
    assert strong.snr_db > readable.snr_db
    assert "In your last measurement" in edge.says


def test_more_than_nine_calls_in_ten_are_copied_at_the_readable_strength() -> None:
    """The curve is logistic with the prior's median slope, 12 % per dB."""
    share = 1 / (1 + 2.718281828 ** (-4 * Prior().slope_per_db * READABLE_ABOVE_EDGE_DB))
    assert share > 0.9
