"""Estimates of x50, x80 and slope with their intervals, from one block or several.

How the interval is made
------------------------
* x50, x80 and slope are posterior medians, because the posterior of x80 has a long upper tail: its
  mean would be up to 0.7 dB too high. Lapse rate and tau are posterior means. The interval is
  equal-tailed; X50_TAIL and X80_TAIL are chosen so that, with adaptively placed levels, it contains
  the true value in 95 of 100 blocks for slopes from 4 to 20 % per dB (tests/measured/intervals.md).
  Intervals from the profile likelihood, the bootstrap or the curvature of a logistic regression
  contain it in only 85 to 93 of 100.
* Fluctuations that last over several items (attention, a noise burst) make neighbouring items
  alike. This serial dependence is estimated from the trials and widens the intervals
  (`checks.variance_inflation`). A shift that affects a single item (its own fading) needs no
  widening: it flattens the curve of whole items, and the slope accounts for it.
* Blocks of different days are pooled into one curve. From MIN_POOLED_BLOCKS blocks on, each block
  has its own shift of x50, with SD tau, which is estimated too. With fewer blocks tau cannot be
  estimated, and the interval excludes the variation between days (flag "days").

The order of the trials does not affect the estimates; it affects only the widening and the flag
"moving".
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.errors import UserError
from drill.psychometrics.checks import (
    MIN_POOLED_BLOCKS,
    Flag,
    GoodnessOfFit,
    find_flags,
    goodness_of_fit,
    variance_inflation,
)
from drill.psychometrics.curve import Curve, proportion_correct_at, snr_at
from drill.psychometrics.grid import (
    GRID_STEP_DB,
    LAPSE_GRID,
    SLOPE_GRID_PER_DB,
    Prior,
    Trial,
    log_likelihood,
    normalised_weights,
)
from drill.psychometrics.intervals import Quantity, posterior_summary

X50_TAIL = 0.023
X80_TAIL = 0.03
"""Proportions of the posterior beyond either end of the intervals, chosen by simulation."""
_TAU_GRID_DB = np.array([0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0])
_TAU_SCALE_DB = 1.0
"""Scale of the half-normal prior of tau."""
_NEGLIGIBLE_WEIGHT = 1e-7


@dataclass(frozen=True, eq=False, slots=True)
class Posterior:
    """The grid cells with non-negligible weight.

    x50_db, slope_per_db, lapse, weight: shape (m,); the weights sum to 1.
    """

    x50_db: FloatArray
    slope_per_db: FloatArray
    lapse: FloatArray
    weight: FloatArray
    guess_rate: float

    def proportion_correct(self, snr_db: float | FloatArray) -> FloatArray:
        """Return the proportion correct of each cell, shape (m,).

        snr_db: one SNR in dB for all cells, or one for each, shape (m,).
        """
        return proportion_correct_at(
            snr_db, self.x50_db, self.slope_per_db, self.lapse, self.guess_rate
        )

    def snr_at(self, proportion: float) -> FloatArray:
        """Return the SNR in dB of each cell for a proportion correct, shape (m,).

        NaN where a cell's curve does not reach the proportion.
        """
        return snr_at(proportion, self.x50_db, self.slope_per_db, self.lapse, self.guess_rate)


@dataclass(frozen=True, kw_only=True, eq=False)
class Estimate:
    """What the trials of one block or several say about the psychometric function.

    x50_db, x80_db: SNR in dB for 50 % and 80 % of items right. slope_per_db: slope at x50.
    lapse: lapse rate.
    widening: factor by which serial dependence widened every interval; 1 for no widening.
    tau_db: day-to-day SD in dB; None with fewer than MIN_POOLED_BLOCKS blocks.
    blocks, n, right: number of blocks, of items counted, and of items right.
    flags: caveats to report with the figures; empty if there are none.
    """

    x50_db: Quantity
    x80_db: Quantity
    slope_per_db: Quantity
    lapse: Quantity
    goodness: GoodnessOfFit
    widening: float
    tau_db: Quantity | None
    blocks: int
    n: int
    right: int
    prior: Prior
    posterior: Posterior = field(repr=False)
    flags: tuple[Flag, ...] = ()

    def proportion_correct(self, snr_db: float) -> Quantity:
        """Return the proportion correct at an SNR in dB, with its interval."""
        return _proportion_summary(self, self.posterior.proportion_correct(snr_db))


def proportion_at_power(
    estimate: Estimate, power_ratio_db: float, reference: float = 0.5
) -> Quantity | None:
    """Return the proportion correct after a change of power on an unchanged radio path.

    power_ratio_db: 10 lg of the new over the old power (-6.99 for 20 W instead of 100 W, -13.01
    for 5 W). reference: proportion correct at the old power. Returns None if the curve does not
    reach the reference.
    """
    snr_db = estimate.posterior.snr_at(reference)
    if np.isnan(snr_db).any():
        return None
    return _proportion_summary(
        estimate, estimate.posterior.proportion_correct(snr_db + power_ratio_db)
    )


def fit(trials: Sequence[Trial], prior: Prior, rng: np.random.Generator) -> Estimate:
    """Return the estimate from one block; arguments and errors are those of `pool`."""
    return pool([trials], prior, rng)


def pool(blocks: Sequence[Sequence[Trial]], prior: Prior, rng: np.random.Generator) -> Estimate:
    """Return one estimate from all trials of several blocks.

    blocks: trials of each block in the order presented; warm-ups are ignored.
    prior: must not be derived from these blocks, or their data would count twice.
    rng: used only to simulate blocks for the goodness of fit.

    Raises: UserError if no trial counts, or as `count_by_level` does.
    """
    counted = _counted(blocks)
    trials = [trial for block in counted for trial in block]
    log_likelihoods, tau_db = _pooled_log_likelihood(prior, [block for block in counted if block])
    grid = normalised_weights(log_likelihoods + prior.log_density().reshape(log_likelihoods.shape))
    centre = _central_estimates(prior, grid, counted)
    posterior = _non_negligible(prior, grid)
    x80_db = posterior_summary(
        posterior.snr_at(0.8), posterior.weight, median=True, tail=X80_TAIL
    ).widened(centre.widening)
    goodness = goodness_of_fit(trials, centre.curve, rng)
    flags = find_flags(
        counted,
        prior,
        centre.x50_db,
        x80_db,
        goodness=goodness,
        lapse_cap_factor=_lapse_cap_factor(prior, grid),
    )
    return Estimate(
        x50_db=centre.x50_db,
        x80_db=x80_db,
        slope_per_db=centre.log_slope.exponential(),
        lapse=centre.lapse,
        goodness=goodness,
        widening=centre.widening,
        tau_db=tau_db,
        blocks=len(blocks),
        n=len(trials),
        right=sum(trial.right for trial in trials),
        prior=prior,
        posterior=posterior,
        flags=flags,
    )


def threshold_interval(trials: Sequence[Trial], prior: Prior) -> Quantity:
    """Return x50 in dB as `fit` does, without the other results, in a fifth of the time.

    Raises: UserError as `pool` does.
    """
    counted = _counted([trials])
    log_likelihoods = log_likelihood(prior, counted[0])
    grid = normalised_weights(log_likelihoods + prior.log_density().reshape(log_likelihoods.shape))
    return _central_estimates(prior, grid, counted).x50_db


def _counted(blocks: Sequence[Sequence[Trial]]) -> list[list[Trial]]:
    """Return the blocks without their warm-ups.

    Raises: UserError if no trial counts.
    """
    counted = [[trial for trial in block if not trial.warm_up] for block in blocks]
    if not any(counted):
        raise UserError("there is nothing to fit: no item has been answered")
    return counted


@dataclass(frozen=True, kw_only=True, slots=True)
class _CentralEstimates:
    """Threshold in dB, log slope per dB (both widened), lapse rate, and the curve through them."""

    x50_db: Quantity
    log_slope: Quantity
    lapse: Quantity
    curve: Curve
    widening: float


def _central_estimates(
    prior: Prior, grid: FloatArray, blocks: Sequence[Sequence[Trial]]
) -> _CentralEstimates:
    """Return the estimates from a posterior grid, shape (145, 110), and the blocks' trials."""
    cube = grid.reshape(-1, len(SLOPE_GRID_PER_DB), len(LAPSE_GRID))
    log_slope = posterior_summary(np.log(SLOPE_GRID_PER_DB), cube.sum(axis=(0, 2)), median=True)
    x50_db = posterior_summary(
        prior.threshold_grid_db, cube.sum(axis=(1, 2)), median=True, tail=X50_TAIL
    )
    lapse = posterior_summary(LAPSE_GRID, cube.sum(axis=(0, 1)))
    curve = Curve(
        x50_db=x50_db.value,
        slope_per_db=math.exp(log_slope.value),
        lapse=lapse.value,
        guess_rate=prior.guess_rate,
    )
    widening = math.sqrt(variance_inflation(blocks, curve))
    return _CentralEstimates(
        x50_db=x50_db.widened(widening),
        log_slope=log_slope.widened(widening),
        lapse=lapse,
        curve=curve,
        widening=widening,
    )


def _lapse_cap_factor(prior: Prior, grid: FloatArray) -> float:
    """Return the Bayes factor of the highest lapse rate against none; 0 if the prior excludes it.

    grid: posterior, shape (145, 110).
    """
    lapse_weights = grid.reshape(-1, len(LAPSE_GRID)).sum(axis=0)
    none, cap = prior.lapse_weights[0], prior.lapse_weights[-1]
    if not cap or not lapse_weights[0]:
        return 0.0
    return float(lapse_weights[-1] / cap * none / lapse_weights[0])


def _proportion_summary(estimate: Estimate, proportions: FloatArray) -> Quantity:
    """Return a proportion with the estimate's widening, its interval kept within 0 to 1."""
    quantity = posterior_summary(proportions, estimate.posterior.weight).widened(estimate.widening)
    return replace(quantity, low=max(0.0, quantity.low), high=min(1.0, quantity.high))


def _pooled_log_likelihood(
    prior: Prior, blocks: Sequence[Sequence[Trial]]
) -> tuple[FloatArray, Quantity | None]:
    """Return the log-likelihood of all blocks, shape (145, 110), and tau in dB or None.

    tau is None with fewer than MIN_POOLED_BLOCKS blocks.
    """
    logs = [log_likelihood(prior, block) for block in blocks]
    if len(blocks) < MIN_POOLED_BLOCKS:
        return np.asarray(sum(logs)), None
    log_prior = prior.log_density().reshape(logs[0].shape)
    distance_db = prior.threshold_grid_db[:, None] - prior.threshold_grid_db
    peaks = [log.max() for log in logs]
    likelihoods = [np.exp(log - peak) for log, peak in zip(logs, peaks, strict=True)]
    log_by_tau = []
    for tau_db in _TAU_GRID_DB:
        # Each block's threshold is normally distributed around the common one, so its likelihood is
        # convolved with that normal distribution along the threshold axis.
        kernel = np.exp(-0.5 * (distance_db / max(tau_db, GRID_STEP_DB / 10)) ** 2)
        kernel /= kernel.sum(axis=1, keepdims=True)
        blurred = [np.log(np.maximum(kernel @ values, 1e-300)) for values in likelihoods]
        log_by_tau.append(np.asarray(sum(blurred)))
    stack = np.stack(log_by_tau) - 0.5 * (_TAU_GRID_DB[:, None, None] / _TAU_SCALE_DB) ** 2
    # The grid of tau is uneven, so each step is weighted by its width.
    log_widths = np.log(np.gradient(_TAU_GRID_DB))[:, None, None]
    tau_weights = normalised_weights(stack + log_prior + log_widths).sum(axis=(1, 2))
    pooled = np.asarray(np.logaddexp.reduce(stack + log_widths, axis=0))
    return pooled, posterior_summary(_TAU_GRID_DB, tau_weights)


def _non_negligible(prior: Prior, grid: FloatArray) -> Posterior:
    """Return the cells of a posterior grid, shape (145, 110), with non-negligible weight."""
    axes = np.meshgrid(prior.threshold_grid_db, SLOPE_GRID_PER_DB, LAPSE_GRID, indexing="ij")
    keep = grid.ravel() > _NEGLIGIBLE_WEIGHT * grid.max()
    x50, slope, lapse = (axis.ravel()[keep] for axis in axes)
    weight = grid.ravel()[keep]
    return Posterior(x50, slope, lapse, weight / weight.sum(), prior.guess_rate)
