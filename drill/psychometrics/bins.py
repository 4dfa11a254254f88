"""Trials by steps of SNR, to be shown beside the curve that was fitted to each of them."""

from collections.abc import Iterable
from dataclasses import dataclass

from drill.psychometrics.grid import Trial
from drill.psychometrics.intervals import Interval, wilson
from drill.psychometrics.posterior import Estimate

STEP_DB = 2.0


@dataclass(frozen=True, kw_only=True, slots=True)
class SnrBin:
    """The trials of one step: its SNR, how many were right of how many, and the curve's share."""

    low_db: float
    high_db: float
    right: int
    n: int
    share: Interval
    curve: float


def bin_trials(trials: Iterable[Trial], estimate: Estimate) -> list[SnrBin]:
    """Return the trials that count by steps of STEP_DB, in rising SNR; steps without any left out.

    share has Wilson's interval; curve is the estimate's share, averaged over the step's trials.
    """
    steps: dict[int, list[Trial]] = {}
    for trial in trials:
        if not trial.warm_up:
            steps.setdefault(int(trial.snr_db // STEP_DB), []).append(trial)
    return [
        SnrBin(
            low_db=step * STEP_DB,
            high_db=(step + 1) * STEP_DB,
            right=sum(t.right for t in inside),
            n=len(inside),
            share=wilson(sum(t.right for t in inside), len(inside)),
            curve=sum(estimate.share(t.snr_db).value for t in inside) / len(inside),
        )
        for step, inside in sorted(steps.items())
    ]
