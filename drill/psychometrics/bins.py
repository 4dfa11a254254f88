"""Trials grouped by SNR, to plot data beside the fitted curve."""

from collections.abc import Iterable
from dataclasses import dataclass

from drill.psychometrics.grid import Trial
from drill.psychometrics.intervals import Interval, wilson_interval
from drill.psychometrics.posterior import Estimate

BIN_WIDTH_DB = 2.0


@dataclass(frozen=True, kw_only=True, slots=True)
class SnrBin:
    """The trials with an SNR from low_db to below high_db.

    right, n: items right and items in total. proportion: right / n with its Wilson interval.
    expected: proportion correct by the fitted curve, averaged over the trials of the bin.
    """

    low_db: float
    high_db: float
    right: int
    n: int
    proportion: Interval
    expected: float


def bin_trials(trials: Iterable[Trial], estimate: Estimate) -> list[SnrBin]:
    """Return the trials in bins of BIN_WIDTH_DB, by rising SNR, without warm-ups or empty bins."""
    groups: dict[int, list[Trial]] = {}
    for trial in trials:
        if not trial.warm_up:
            groups.setdefault(int(trial.snr_db // BIN_WIDTH_DB), []).append(trial)
    bins = []
    for index, group in sorted(groups.items()):
        right, n = sum(trial.right for trial in group), len(group)
        expected = [estimate.proportion_correct(trial.snr_db).value for trial in group]
        bins.append(
            SnrBin(
                low_db=index * BIN_WIDTH_DB,
                high_db=(index + 1) * BIN_WIDTH_DB,
                right=right,
                n=n,
                proportion=wilson_interval(right, n),
                expected=sum(expected) / n,
            )
        )
    return bins
