"""Checks of a fit: goodness of fit, serial dependence, and caveats about the figures."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from drill.psychometrics.curve import Curve
from drill.psychometrics.grid import (
    LAPSE_GRID,
    PROBABILITY_FLOOR,
    Prior,
    Trial,
    count_by_level,
    posterior_weights,
)
from drill.psychometrics.intervals import (
    Quantity,
    posterior_summary,
    smallest_detectable_change,
)

MISFIT_P = 0.05
MIN_THRESHOLD_ITEMS = 40
"""With fewer items, a threshold is only a rough indication."""
MAX_INTERVAL_DB = 6.0
"""A threshold whose interval is wider than this is flagged. With 60 items the interval is 3 dB wide
at a slope of 20 % per dB, 4 dB at 12 % and 5.5 dB at 8 %."""
MIN_POOLED_BLOCKS = 5
"""Minimum number of blocks for an estimate of the day-to-day SD."""
_STRONG_BAYES_FACTOR = 10.0
"""A Bayes factor of 10 or more is strong evidence (H. Jeffreys, Theory of Probability, appendix B).
Of 100 blocks of 60 items by a listener with 2 % lapses, one exceeds a factor of 5."""
_SIMULATED_BLOCKS = 500
_MAX_LAG = 5
_MIN_DEPENDENCE_ITEMS = 20
_EXCESS_PRIOR_MEAN = 0.5
"""Mean of the exponential prior on the excess variance from serial dependence."""
_MIN_HALF_ITEMS = 15
"""The halves of a block are compared only if each has this many items."""


@dataclass(frozen=True, kw_only=True, slots=True)
class GoodnessOfFit:
    """How well a curve describes its trials.

    deviance: twice the log-likelihood ratio against the saturated model (one parameter per level).
    p: proportion of blocks simulated from the curve whose deviance is at least as large.
    """

    deviance: float
    p: float

    @property
    def is_misfit(self) -> bool:
        """True if the curve is rejected at the 5 % level."""
        return self.p < MISFIT_P


@dataclass(frozen=True, kw_only=True, slots=True)
class Flag:
    """A caveat about an estimate, as data; `drill.psychometrics.wording` has the sentences.

    key, and the figures that go with it:
    "few": too few items; n, required.
    "wide": the interval of the threshold is too wide; width_db.
    "x80-beyond": x80 lies above every SNR presented.
    "lapses": more lapses than the grid allows; cap.
    "misfit": the curve does not fit; p.
    "days": too few blocks to estimate the day-to-day SD; required.
    "one-sided": all or none of the items of a block are right; right, n.
    "moving": the threshold differs between the halves of a block; change_db (second minus first).
    """

    key: str
    figures: Mapping[str, float] = field(default_factory=dict)


def goodness_of_fit(
    trials: Sequence[Trial], curve: Curve, rng: np.random.Generator
) -> GoodnessOfFit:
    """Return the deviance of a curve and its p-value from simulated blocks.

    With one or two items per level the test detects only gross misfit; it rejects about 2 % of
    blocks that the curve does describe.

    Source: F. A. Wichmann and N. J. Hill, Percept. Psychophys. 63 (2001), 1293-1313.
    """
    levels, right, wrong = count_by_level(trials)
    n = right + wrong
    p = np.clip(curve.proportion_correct(levels), PROBABILITY_FLOOR, 1 - PROBABILITY_FLOOR)
    simulated = rng.binomial(n.astype(int), p, (_SIMULATED_BLOCKS, len(n)))
    counts = np.concatenate([right[None], simulated])
    # k ln k is 0 at k = 0; the maximum keeps the deviance finite if all or none are right.
    saturated = sum(k * np.log(np.maximum(k, 1) / n) for k in (counts, n - counts))
    fitted = counts * np.log(p) + (n - counts) * np.log1p(-p)
    deviances = 2 * (saturated - fitted).sum(axis=1)
    return GoodnessOfFit(
        deviance=float(deviances[0]),
        p=float(np.mean(deviances[1:] >= deviances[0] - 1e-9)),
    )


def variance_inflation(blocks: Sequence[Sequence[Trial]], curve: Curve) -> float:
    """Return the factor, 1 or above, by which serial dependence inflates the variance.

    The factor is 1 + 2 sum w_k r_k with r_k the autocorrelation of the residuals at lag k and
    Bartlett weights w_k, shrunk by the amount expected from independent trials. It detects
    fluctuations that last up to about ten items. It cannot detect a shift of a whole block (the
    day-to-day SD covers that) and sees only part of a slow drift (the flag "moving" covers that).
    Blocks of fewer than 20 items are ignored.

    Source: W. K. Newey and K. D. West, Econometrica 55 (1987), 703-708.
    """
    total, products, items = 0.0, np.zeros(_MAX_LAG), 0
    lags = np.arange(1, _MAX_LAG + 1)
    for block in blocks:
        if len(block) < _MIN_DEPENDENCE_ITEMS:
            continue
        levels = np.array([trial.snr_db for trial in block])
        p = np.clip(curve.proportion_correct(levels), 0.02, 0.98)
        right = np.array([trial.right for trial in block], dtype=np.float64)
        residual = (right - p) / np.sqrt(p * (1 - p))
        residual -= residual.mean()
        squares = float(residual @ residual)
        total += squares
        products += [float(residual[:-lag] @ residual[lag:]) for lag in lags]
        # Subtracting the mean lowers each autocorrelation by 1/n.
        products += squares / len(block)
        items += len(block)
    if not items or not total:
        return 1.0
    weights = 1 - lags / (_MAX_LAG + 1)
    excess = 2 * float(weights @ products) / total
    variance_if_independent = 4 * float(weights @ weights) / items
    # Mode of the posterior of the excess: normal likelihood, exponential prior.
    return 1 + max(0.0, excess - variance_if_independent / _EXCESS_PRIOR_MEAN)


def find_flags(
    blocks: Sequence[Sequence[Trial]],
    prior: Prior,
    x50_db: Quantity,
    x80_db: Quantity,
    *,
    goodness: GoodnessOfFit,
    lapse_cap_factor: float,
) -> tuple[Flag, ...]:
    """Return the caveats about an estimate from some blocks; empty if there are none.

    blocks: trials that count, at least one. lapse_cap_factor: likelihood of the highest lapse rate
    on the grid divided by the likelihood of no lapses (Bayes factor).
    """
    trials = [trial for block in blocks for trial in block]
    width_db = x50_db.high - x50_db.low
    candidates = [
        (
            len(trials) < MIN_THRESHOLD_ITEMS,
            Flag(key="few", figures={"n": len(trials), "required": MIN_THRESHOLD_ITEMS}),
        ),
        (width_db > MAX_INTERVAL_DB, Flag(key="wide", figures={"width_db": width_db})),
        (x80_db.value > max(trial.snr_db for trial in trials), Flag(key="x80-beyond")),
        (
            lapse_cap_factor > _STRONG_BAYES_FACTOR,
            Flag(key="lapses", figures={"cap": float(LAPSE_GRID[-1])}),
        ),
        (goodness.is_misfit, Flag(key="misfit", figures={"p": goodness.p})),
        (
            1 < len(blocks) < MIN_POOLED_BLOCKS,
            Flag(key="days", figures={"required": MIN_POOLED_BLOCKS}),
        ),
    ]
    flags = [flag for applies, flag in candidates if applies]
    if len(blocks) == 1:
        flags += _block_flags(trials, prior)
    return tuple(flags)


def _block_flags(trials: Sequence[Trial], prior: Prior) -> Iterator[Flag]:
    """Yield the caveats that concern a single block."""
    right = sum(trial.right for trial in trials)
    if right in (0, len(trials)):
        yield Flag(key="one-sided", figures={"right": right, "n": len(trials)})
    middle = len(trials) // 2
    if middle < _MIN_HALF_ITEMS:
        return
    first, second = (
        posterior_summary(prior.threshold_grid_db, posterior_weights(prior, half).sum(axis=1))
        for half in (trials[:middle], trials[middle:])
    )
    change_db = second.value - first.value
    if abs(change_db) > smallest_detectable_change(first.sd, second.sd):
        yield Flag(key="moving", figures={"change_db": change_db})
