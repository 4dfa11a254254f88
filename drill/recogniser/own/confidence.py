"""Confidence in a whole sequence, and in each unit compared with its rivals.

These are the network's own probabilities; `calibration` turns them into shares of right answers.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from drill.recogniser.own.alignment import LabelFrames
from drill.recogniser.own.beam import Hypothesis

RUNNERS_UP = 3
CONSIDERED = 12


@dataclass(frozen=True, slots=True)
class Rival:
    """Another unit that might have been said, with its probability from 0 to 1."""

    name: str
    probability: float


def share_of_best(hypotheses: Sequence[Hypothesis]) -> float:
    """Return the share of the first hypothesis in the probability of all, 0 if there is none."""
    if not hypotheses:
        return 0.0
    best = hypotheses[0].score
    return 1 / sum(math.exp(hypothesis.score - best) for hypothesis in hypotheses)


def territories(spans: Sequence[LabelFrames], frames: int) -> tuple[tuple[int, int], ...]:
    """Return the frames of each unit, up to its neighbours': first frame, and one after the last.

    A border lies halfway between the frames on which two neighbours are emitted.
    """
    borders = [0]
    borders += [(a.last + b.first + 1) // 2 for a, b in pairwise(spans)]
    borders.append(frames)
    return tuple((borders[k], max(borders[k] + 1, borders[k + 1])) for k in range(len(spans)))


def likeliest_units(
    log_probabilities: NDArray[np.float64], territory: tuple[int, int], chosen: int
) -> list[int]:
    """Return the chosen unit and the next likeliest ones in a territory."""
    peaks = log_probabilities[territory[0] : territory[1], 1:].max(0)
    order = np.argsort(-peaks, kind="stable")[:CONSIDERED]
    return [chosen, *(int(unit) for unit in order if unit != chosen)]


def unit_posteriors(
    log_probabilities: NDArray[np.float64], territory: tuple[int, int], allowed: Sequence[int]
) -> NDArray[np.float64]:
    """Return the probability that each allowed unit is the one spoken in a territory.

    log_probabilities: of beam.unit_log_probabilities. territory: the frames of a unit, as from
    `territories`. allowed: numbers of units. For each the CTC paths "blanks, unit, blanks" are
    summed; the last value is that of no unit at all.
    """
    rows = log_probabilities[territory[0] : territory[1]]
    units = rows[:, [unit + 1 for unit in allowed]]
    blank = rows[:, 0]
    before, inside, after = 0.0, np.full(len(allowed), -np.inf), np.full(len(allowed), -np.inf)
    for frame in range(len(rows)):
        after = np.logaddexp(after, inside) + blank[frame]
        inside = np.logaddexp(inside, before) + units[frame]
        before += float(blank[frame])
    scores = np.append(np.logaddexp(inside, after), before)
    scores = np.exp(scores - scores.max())
    return np.asarray(scores / scores.sum())
