"""The simulated listeners have the shifts and thresholds that they declare."""

import numpy as np
import pytest

from drill.psychometrics.curve import snr_at
from tests.tools.simulated_listeners import ASSUMED_CURVE, SimulatedListener


def test_shifts_have_the_declared_sd_correlation_and_fatigue() -> None:
    rng = np.random.default_rng(5)
    listener = SimulatedListener(curve=ASSUMED_CURVE, shift_sd_db=2.0, shift_correlation=0.8)
    shifts_db = listener.shifts_db(20_000, rng)
    assert shifts_db.std() == pytest.approx(2.0, abs=0.15)
    assert np.corrcoef(shifts_db[:-1], shifts_db[1:])[0, 1] == pytest.approx(0.8, abs=0.02)
    tired = SimulatedListener(curve=ASSUMED_CURVE, fatigue_db=2.0).shifts_db(61, rng)
    assert tired[-1] - tired[0] == pytest.approx(2.0)
    simulated = ASSUMED_CURVE.proportion_correct(-1.0 - shifts_db).mean()
    assert listener.proportion_correct(-1.0) == pytest.approx(simulated, abs=0.02)


def test_a_listener_without_shifts_has_the_threshold_of_the_curve() -> None:
    expected = float(snr_at(0.8, -3.0, 0.15, 0.02, 0.0))
    assert SimulatedListener(curve=ASSUMED_CURVE).snr_at(0.8) == pytest.approx(expected)
