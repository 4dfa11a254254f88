"""The cost of a label in dB: how much more SNR it needs than the average label.

A label is anything that characterises an item or a part of it: a character, a word, a kind of word,
an operator, a fading preset, a position in the call. A cost of 2 dB means that the label is right
as often as the average label only with 2 dB more SNR; it is a shift of the common psychometric
function.

Costs are shrunk: their prior is normal around 0, with an SD estimated from all labels together, so
the cost of a label with few observations stays near 0. A label counts as one observation per item,
with the proportion of it that was right, because the characters of an item are not independent.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.validation import within
from drill.psychometrics.curve import Curve
from drill.psychometrics.grid import MAX_ABS_SNR_DB, PROBABILITY_FLOOR, normalised_weights
from drill.psychometrics.intervals import Quantity, posterior_summary

MIN_OBSERVATIONS = 30
"""Number of observations that determine a cost to about 1 dB (SD); with fewer it is not shown."""
_COST_GRID_DB = np.arange(-12, 12.01, 0.25)
_SPREAD_GRID_DB = np.array([0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0])
"""SD of the costs of all labels."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Observation:
    """One label in one item: its SNR in dB and the proportion of the label that was right.

    Raises: UserError if the proportion is outside 0 to 1 or the SNR beyond 50 dB.
    """

    label: str
    snr_db: float
    right: float

    def __post_init__(self) -> None:
        """Check proportion and SNR."""
        # A report creates 100,000 of these, so the messages are built only for an error.
        if not 0 <= self.right <= 1:
            within("right", self.right, 0, 1, label=f"proportion right of {self.label}")
        if not -MAX_ABS_SNR_DB <= self.snr_db <= MAX_ABS_SNR_DB:
            within("snr_db", self.snr_db, -MAX_ABS_SNR_DB, MAX_ABS_SNR_DB, "dB", label="SNR")


@dataclass(frozen=True, kw_only=True, slots=True)
class LabelCost:
    """The cost of a label in dB relative to the average label, from n observations."""

    cost_db: Quantity
    n: int

    @property
    def has_enough_data(self) -> bool:
        """True if there are enough observations to report the cost."""
        return self.n >= MIN_OBSERVATIONS


def estimate_label_costs(observations: Iterable[Observation], curve: Curve) -> dict[str, LabelCost]:
    """Return the cost of each label, in alphabetical order; empty without observations.

    curve: psychometric function of the average label (for characters, that of characters; for
    operators and the like, that of whole items). The order of the observations does not matter.
    """
    likelihoods = _log_likelihoods(observations, curve)
    if not likelihoods:
        return {}
    prior = np.exp(-0.5 * (_COST_GRID_DB / _SPREAD_GRID_DB[:, None]) ** 2)
    log_prior = np.log(prior / prior.sum(axis=1, keepdims=True) + 1e-300)
    # Joint log density of spread and cost for each label, shape (7 spreads, 97 costs).
    joint = {label: log + log_prior for label, (log, _) in likelihoods.items()}
    log_spread = sum(np.logaddexp.reduce(grid, axis=1) for grid in joint.values())
    spread_weights = normalised_weights(np.asarray(log_spread))
    costs = {}
    for label in sorted(likelihoods):
        by_spread = np.stack([normalised_weights(row) for row in joint[label]])
        cost_db = posterior_summary(_COST_GRID_DB, spread_weights @ by_spread)
        costs[label] = LabelCost(cost_db=cost_db, n=likelihoods[label][1])
    return costs


def _log_likelihoods(
    observations: Iterable[Observation], curve: Curve
) -> dict[str, tuple[FloatArray, int]]:
    """Return for each label its log-likelihood over the cost grid, shape (97,), and its n."""
    groups: dict[str, list[Observation]] = {}
    for observation in observations:
        groups.setdefault(observation.label, []).append(observation)
    likelihoods = {}
    for label, group in groups.items():
        snr = np.array([observation.snr_db for observation in group])
        right = np.array([observation.right for observation in group])
        levels, index = np.unique(snr, return_inverse=True)
        hits = np.bincount(index, right, minlength=len(levels))
        misses = np.bincount(index, 1 - right, minlength=len(levels))
        p = curve.proportion_correct(levels[:, None] - _COST_GRID_DB)
        p = np.clip(p, PROBABILITY_FLOOR, 1 - PROBABILITY_FLOOR)
        log = np.asarray(hits @ np.log(p) + misses @ np.log1p(-p))
        likelihoods[label] = (log, len(group))
    return likelihoods
