"""Prefix beam search: the likeliest sequences of units that a grammar allows, with CTC posteriors.

A prefix is a sequence of units, stored with the set of grammar states that it reaches. Tokens that
are not in the grammar count as blank. Source: A. Hannun et al., First-Pass Large Vocabulary
Continuous Speech Recognition using Bi-Directional Recurrent DNNs, 2014, with a grammar in place of
the language model.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.recogniser.own.model import LogProbabilities
from drill.recogniser.own.word_network import WordNetwork

BEAM = 16
MAX_CANDIDATES = 10
"""Number of units tried in each frame."""
LEAST = -9.0
"""Log probability below which a unit is not tried."""
SILENT = -1e-3
"""Log probability of blank above which nothing else is tried in a frame."""
POSTERIOR_FLOOR = 1e-9

Prefix = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """A sequence of units in the grammar, with its log score (CTC and weights of the grammar)."""

    units: Prefix
    score: float


def unit_log_probabilities(words: LogProbabilities, network: WordNetwork) -> NDArray[np.float64]:
    """Return log probabilities (frames, units + 1) of blank, column 0, and of the units."""
    probabilities = np.exp(words.astype(np.float64))
    result = np.empty((len(words), len(network.units) + 1))
    for number, unit in enumerate(network.units, 1):
        columns = [token for token, _ in unit.words]
        result[:, number] = probabilities[:, columns].sum(1)
    used = sorted({token for unit in network.units for token, _ in unit.words})
    result[:, 0] = np.maximum(1 - probabilities[:, used].sum(1), 1e-6)
    return np.asarray(np.log(result + POSTERIOR_FLOOR))


class _Ends:
    """Grammar states of prefixes, computed once for each prefix."""

    def __init__(self, network: WordNetwork) -> None:
        self._network = network
        self._known: dict[Prefix, Mapping[int, float]] = {(): dict(network.start)}
        self._best: dict[Prefix, float] = {(): 0.0}

    def states(self, prefix: Prefix) -> Mapping[int, float]:
        """Return the states after a prefix, each with the log weight of its best path."""
        if prefix not in self._known:
            ends: dict[int, float] = {}
            for state, weight in self.states(prefix[:-1]).items():
                for target, more in self._network.successors[state].get(prefix[-1], ()):
                    if weight + more > ends.get(target, -math.inf):
                        ends[target] = weight + more
            self._known[prefix] = ends
        return self._known[prefix]

    def weight(self, prefix: Prefix) -> float:
        """Return the log weight of the best path to a prefix, -inf if the grammar has none."""
        if prefix not in self._best:
            self._best[prefix] = max(self.states(prefix).values(), default=-math.inf)
        return self._best[prefix]

    def final_weight(self, prefix: Prefix) -> float:
        """Return the log weight of the best path that ends with a prefix, -inf if none does."""
        final = self._network.final
        ways = [weight + final[s] for s, weight in self.states(prefix).items() if s in final]
        return max(ways, default=-math.inf)


def beam_search(
    log_probabilities: NDArray[np.float64], network: WordNetwork, beam: int = BEAM
) -> tuple[Hypothesis, ...]:
    """Return hypotheses that the grammar accepts, the likeliest first; empty if there is none.

    log_probabilities: of unit_log_probabilities.
    """
    ends = _Ends(network)
    # For each prefix: log scores of CTC paths that end in blank and in the prefix's last unit.
    current: dict[Prefix, tuple[float, float]] = {(): (0.0, -math.inf)}
    for row in log_probabilities:
        blank = float(row[0])
        if blank > SILENT:
            current = {
                prefix: (_add(a, b) + blank, -math.inf) for prefix, (a, b) in current.items()
            }
            continue
        order = np.argpartition(row[1:], -min(MAX_CANDIDATES, len(row) - 1))[-MAX_CANDIDATES:]
        tried = [(int(unit), float(row[unit + 1])) for unit in order if row[unit + 1] > LEAST]
        current = _advance(current, row, blank, tried, ends)
        if len(current) > beam:
            ranked = sorted(
                current.items(), key=lambda entry: -_add(*entry[1]) - ends.weight(entry[0])
            )
            current = dict(ranked[:beam])
    scored = [
        Hypothesis(prefix, _add(*pair) + ends.final_weight(prefix))
        for prefix, pair in current.items()
        if ends.final_weight(prefix) > -math.inf
    ]
    return tuple(sorted(scored, key=lambda hypothesis: -hypothesis.score))


def _advance(
    current: Mapping[Prefix, tuple[float, float]],
    row: NDArray[np.float64],
    blank: float,
    tried: list[tuple[int, float]],
    ends: _Ends,
) -> dict[Prefix, tuple[float, float]]:
    """Return the prefixes after one more frame."""
    result: dict[Prefix, tuple[float, float]] = {}

    def add(prefix: Prefix, in_blank: float, in_unit: float) -> None:
        before = result.get(prefix, (-math.inf, -math.inf))
        result[prefix] = (_add(before[0], in_blank), _add(before[1], in_unit))

    for prefix, (in_blank, in_unit) in current.items():
        total = _add(in_blank, in_unit)
        held = in_unit + float(row[prefix[-1] + 1]) if prefix else -math.inf
        add(prefix, total + blank, held)
        for unit, probability in tried:
            longer = (*prefix, unit)
            # Between two equal units there must be a blank.
            before = in_blank if prefix and prefix[-1] == unit else total
            if before > -math.inf and ends.states(longer):
                add(longer, -math.inf, before + probability)
    return result


def _add(a: float, b: float) -> float:
    """Return log(exp(a) + exp(b))."""
    if a < b:
        a, b = b, a
    return a if b == -math.inf else a + math.log1p(math.exp(b - a))
