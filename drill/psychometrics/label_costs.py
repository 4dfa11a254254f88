"""What to practise: the cost of each label in dB, and how often each character is drawn.

A label is anything that an item is or has in it: a character, a word, a number style, a voice, a
fading preset, a place in the call. Its cost is the shift of a common curve: 2 dB mean that it is
copied as well as the others only with 2 dB more.

Costs are shrunk: they are taken to be normal around 0 with an SD that is estimated from all labels
together, so that a label that was hardly heard stays near 0. Within one item a label counts as one
observation, with the share of it that was right: its characters are not independent.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drill.core.errors import UserError
from drill.psychometrics.curve import Curve, Floats
from drill.psychometrics.grid import FLOOR, WIDEST_DB, normal
from drill.psychometrics.intervals import Quantity, summary

ENOUGH = 30
"""Items with a label from which its cost is known to about 1 dB (SD); below, it is not shown."""
COSTS_DB = np.arange(-12, 12.01, 0.25)
SPREADS_DB = np.array([0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0])
CAP = 3.0
"""No character is drawn more often than this times its even share."""
BY_ERROR = 0.5
"""Share of the draws that go by expected error; the rest is even, so that nothing is forgotten."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Observation:
    """One label in one item: how much of it was right, 0 to 1 (for one character, 0 or 1)."""

    label: str
    snr_db: float
    right: float

    def __post_init__(self) -> None:
        """Refuse a value outside its range."""
        if not 0 <= self.right <= 1 or not abs(self.snr_db) <= WIDEST_DB:
            raise UserError(
                f"{self.label}: {self.right} right at {self.snr_db} dB; "
                "allowed: 0 to 1, -50 to 50 dB"
            )


@dataclass(frozen=True, kw_only=True, slots=True)
class Offset:
    """What a label costs against the average one, in dB; n items; whether that is enough to say."""

    cost_db: Quantity
    n: int

    @property
    def enough(self) -> bool:
        """Return True where enough was heard for the cost to be told."""
        return self.n >= ENOUGH


def _likelihoods(
    observations: Iterable[Observation], curve: Curve
) -> dict[str, tuple[Floats, int]]:
    """Return for each label the logarithm of its likelihood over COSTS_DB, and its n."""
    by_label: dict[str, list[Observation]] = {}
    for one in observations:
        by_label.setdefault(one.label, []).append(one)
    found = {}
    for label, group in by_label.items():
        snr = np.array([one.snr_db for one in group])
        right = np.array([one.right for one in group])
        levels, which = np.unique(snr, return_inverse=True)
        hits = np.bincount(which, right, minlength=len(levels))
        misses = np.bincount(which, 1 - right, minlength=len(levels))
        share = curve.probability(levels[:, None] - COSTS_DB)
        share = np.clip(share, FLOOR, 1 - FLOOR)
        found[label] = (np.asarray(hits @ np.log(share) + misses @ np.log1p(-share)), len(group))
    return found


def offsets(observations: Iterable[Observation], curve: Curve) -> dict[str, Offset]:
    """Return the cost of each label, by what was right of it and the curve of the average label.

    curve: for characters, that of characters; for voices and the like, that of whole items. The
    order of the observations is of no account. Empty where there are none.
    """
    found = _likelihoods(observations, curve)
    if not found:
        return {}
    before = np.exp(-0.5 * (COSTS_DB / SPREADS_DB[:, None]) ** 2)
    before = np.log(before / before.sum(axis=1, keepdims=True) + 1e-300)
    joint = {label: log + before for label, (log, _) in found.items()}  # (7 spreads, 97 costs)
    by_spread = sum(np.logaddexp.reduce(grid, axis=1) for grid in joint.values())
    spread = normal(np.asarray(by_spread))
    return {
        label: Offset(
            cost_db=summary(COSTS_DB, spread @ np.stack([normal(row) for row in joint[label]])),
            n=found[label][1],
        )
        for label in sorted(found)
    }


def weights(
    labels: Sequence[str], costs: Mapping[str, Offset], snr_db: float, curve: Curve
) -> dict[str, float]:
    """Return how likely each label is to be drawn next, sum 1: half by expected error, half evenly.

    A label never heard is taken as average. No weight exceeds CAP times the even share.

    Raises: UserError without a label, or where one is given twice.
    """
    if not labels or len(set(labels)) != len(labels):
        raise UserError("weights need labels, each once")
    cost = np.array([costs[x].cost_db.value if x in costs else 0.0 for x in labels])
    error = 1 - curve.probability(snr_db - cost)
    error = error / error.sum() if error.sum() > 0 else np.full(len(cost), 1 / len(cost))
    share = BY_ERROR * error + (1 - BY_ERROR) / len(cost)
    most = CAP / len(cost)
    over = np.zeros(len(cost), dtype=bool)
    while (share[~over] > most * (1 + 1e-9)).any():
        over |= share > most
        share[~over] *= (1 - most * over.sum()) / share[~over].sum()
        share[over] = most
    return dict(zip(labels, share.tolist(), strict=True))


def easier_db(labels: Iterable[str], costs: Mapping[str, Offset]) -> float:
    """Return the dB to add to an item's SNR for what is in it: the mean cost of its labels.

    The trial is then counted at the SNR before the addition, so that hard items do not look like a
    poorer ear.
    """
    found = [costs[label].cost_db.value if label in costs else 0.0 for label in labels]
    return float(np.mean(found)) if found else 0.0
