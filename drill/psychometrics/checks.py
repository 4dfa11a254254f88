"""Does the curve describe the trials, are they independent, and can they carry the figures?"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from drill.psychometrics.curve import Curve
from drill.psychometrics.grid import FLOOR, LAPSES, Prior, Trial, tally, weigh
from drill.psychometrics.intervals import Quantity, smallest_detectable_change, summary

DRAWS = 500
MISFIT = 0.05
LAGS = 5
LIKENESS = 0.5
"""Mean of the exponential prior of what `dependence` adds; its posterior mode is taken."""
FEWEST = 40
"""Items below which a threshold is only a hint."""
WIDEST_DB = 3.5
"""An interval of x50 wider than this has too few items near the threshold."""
LEAST_HALF = 15
DAYS = 5
"""Fewest blocks from which the day-to-day SD is estimated."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Goodness:
    """How well a curve describes its trials.

    deviance: against a curve through every level. p: share of blocks drawn from the curve itself
    that lie as far off. words: what that means.
    """

    deviance: float
    p: float
    words: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Flag:
    """Something that has to be said beside the figures: a key for programs and a sentence."""

    key: str
    words: str


def goodness(trials: Sequence[Trial], curve: Curve, rng: np.random.Generator) -> Goodness:
    """Return the deviance of the curve and what it means, by DRAWS simulated blocks.

    With one or two items at a level it finds gross misfit only: of blocks that the curve does
    describe, about 2 in 100 are called misfits.

    Source: F. A. Wichmann and N. J. Hill, Percept. Psychophys. 63 (2001), 1293-1313.
    """
    levels, right, wrong = tally(trials)
    n = right + wrong
    share = np.clip(curve.probability(levels), FLOOR, 1 - FLOOR)
    drawn = np.concatenate([right[None], rng.binomial(n.astype(int), share, (DRAWS, len(n)))])
    # k ln k is 0 at 0, so that the deviance is finite where all or none are right.
    full = sum(k * np.log(np.maximum(k, 1) / n) for k in (drawn, n - drawn))
    fitted = drawn * np.log(share) + (n - drawn) * np.log1p(-share)
    deviances = 2 * (full - fitted).sum(axis=1)
    p = float(np.mean(deviances[1:] >= deviances[0] - 1e-9))
    words = (
        f"the curve does not describe these items (p {p:.3f}): its interval is too narrow"
        if p < MISFIT
        else f"nothing speaks against the curve (p {p:.2f})"
    )
    return Goodness(deviance=float(deviances[0]), p=p, words=words)


def dependence(blocks: Sequence[Sequence[Trial]], curve: Curve) -> float:
    """Return the factor, 1 or above, by which likeness of neighbours raises the variance.

    1 + 2 sum w_k r_k, with r_k the correlation of the trials' residuals k items apart (Bartlett's
    weights, k up to LAGS), less what chance alone makes of it. It sees what changes within about
    ten items. It cannot see what stays for the whole block (that is the day-to-day SD), and of a
    slow drift only a part (that is the flag of tiring). Below 20 items nothing can be told: 1.

    Source: W. K. Newey and K. D. West, Econometrica 55 (1987), 703-708.
    """
    total, products, pairs = 0.0, np.zeros(LAGS), 0
    for block in blocks:
        if len(block) < 20:
            continue
        share = np.clip(curve.probability(np.array([t.snr_db for t in block])), 0.02, 0.98)
        right = np.array([t.right for t in block], dtype=np.float64)
        residual = (right - share) / np.sqrt(share * (1 - share))
        residual -= residual.mean()
        total += float(residual @ residual)
        lag = range(1, LAGS + 1)
        products += [float(residual[:-k] @ residual[k:]) for k in lag]
        # Taking the mean out makes each correlation lower by 1/n.
        products += float(residual @ residual) / len(block)
        pairs += len(block)
    if not pairs or not total:
        return 1.0
    weights = 1 - np.arange(1, LAGS + 1) / (LAGS + 1)
    raised = 2 * float(weights @ products) / total
    chance = 4 * float(weights @ weights) / pairs  # variance of the sum where nothing is alike
    return 1 + max(0.0, raised - chance / LIKENESS)


def _block_flags(trials: Sequence[Trial], prior: Prior) -> Iterator[Flag]:
    """Yield what is wrong in one block: nothing near the threshold, or a threshold that moves."""
    right = sum(t.right for t in trials)
    if right in (0, len(trials)):
        side = "below" if right else "above"
        yield Flag(
            key="one-sided",
            words=f"{right} of {len(trials)} items were right: the threshold is {side} these SNRs",
        )
    middle = len(trials) // 2
    if middle >= LEAST_HALF:
        early, late = (
            summary(prior.x50_db, weigh(prior, half).sum(axis=1))
            for half in (trials[:middle], trials[middle:])
        )
        change = late.value - early.value
        if abs(change) > smallest_detectable_change(early.sd, late.sd):
            word = "rose" if change > 0 else "fell"
            yield Flag(
                key="moving",
                words=f"from the first half to the second the threshold {word} by "
                f"{abs(change):.1f} dB: tiring or learning within the block",
            )


def find_flags(
    blocks: Sequence[Sequence[Trial]],
    prior: Prior,
    x50_db: Quantity,
    x80_db: Quantity,
    *,
    fitted: Goodness,
    lapse_at_cap: float,
) -> tuple[Flag, ...]:
    """Return what has to be said beside the figures of some blocks.

    lapse_at_cap: posterior share of the highest lapse that is allowed for.
    """
    trials = [t for block in blocks for t in block]
    highest = max(t.snr_db for t in trials)
    width_db = x50_db.high - x50_db.low
    found = [
        (
            len(trials) < FEWEST,
            "few",
            f"{len(trials)} items are too few for a threshold: {FEWEST} are the least",
        ),
        (
            width_db > WIDEST_DB,
            "wide",
            f"the interval is {width_db:.1f} dB wide: too few items near the threshold",
        ),
        (
            x80_db.value > highest,
            "x80-beyond",
            "the SNR for 80 % is above all that were heard: it rests on the form of the curve",
        ),
        (
            lapse_at_cap > 0.5,
            "lapses",
            f"items are missed at any SNR, more than the {LAPSES[-1]:.0%} that is allowed for: "
            "the SNR for 80 % is too low",
        ),
        (fitted.p < MISFIT, "misfit", fitted.words),
        (
            1 < len(blocks) < DAYS,
            "days",
            f"fewer than {DAYS} blocks: how much days differ is not known and not in the interval",
        ),
    ]
    flags = [Flag(key=key, words=words) for true, key, words in found if true]
    if len(blocks) == 1:
        flags += _block_flags(trials, prior)
    return tuple(flags)
