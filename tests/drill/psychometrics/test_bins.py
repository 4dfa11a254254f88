"""Trials grouped by SNR."""

import numpy as np
import pytest

from drill.psychometrics.bins import bin_trials
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.intervals import wilson_interval
from drill.psychometrics.posterior import fit
from tests.tools.simulated_listeners import simulated_block


def test_bins_count_the_trials_from_their_low_end_to_below_their_high_end() -> None:
    trials = [
        Trial(snr_db=-0.1, right=False),
        Trial(snr_db=0.0, right=True),
        Trial(snr_db=1.9, right=False),
        Trial(snr_db=6.0, right=True),
        Trial(snr_db=0.0, right=True, warm_up=True),
    ]
    estimate = fit(trials, Prior(), np.random.default_rng(1))
    below, middle, high = bin_trials(trials, estimate)
    assert [(b.low_db, b.high_db) for b in (below, middle, high)] == [(-2, 0), (0, 2), (6, 8)]
    assert [(b.right, b.n) for b in (below, middle, high)] == [(0, 1), (1, 2), (1, 1)]
    assert middle.proportion == wilson_interval(1, 2)
    predicted = [estimate.proportion_correct(snr_db).value for snr_db in (0.0, 1.9)]
    assert middle.expected == pytest.approx(np.mean(predicted))


def test_every_trial_of_a_block_is_in_one_bin() -> None:
    trials = simulated_block(60, 3)
    bins = bin_trials(trials, fit(trials, Prior(), np.random.default_rng(1)))
    assert sum(each.n for each in bins) == 60
    assert sum(each.right for each in bins) == sum(trial.right for trial in trials)
