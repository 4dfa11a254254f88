"""Aligns recognised words with the expected words of a prompt: the cheapest sequence of steps.

The cost is the edit distance of Levenshtein on the graph of expected words, in which every accepted
wording is a path, with two additional steps: two neighbours in the wrong order (Damerau), and a
return to an earlier position, for operators who repeat or correct themselves. The cheapest sequence
is found by Dijkstra's algorithm over pairs of the number of recognised words used and the position
reached.

Source: Levenshtein 1966, Damerau 1964; the costs of returns are this project's own.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count
from typing import Literal

from drill.recogniser.language import FILLER_WORDS, procedure_words
from drill.sending.expected import ExpectedGraph, ExpectedWord
from drill.sending.take_grammar import CORRECTING_WORDS
from phonetics.phrases import FIELD_LABELS

ERROR_COST = 1.0
"""Cost of a wrong, missing or extra word, or of two neighbours in the wrong order."""
FORM_COST = 0.001
"""Cost per index of a wording: among wordings that fit equally well, the first is preferred."""
ERROR_IN_OTHER_FORM_COST = 0.1
"""Added to errors in other wordings than the standard one, so that errors are attributed to the
standard wording."""
BACK_AFTER_CORRECTING_COST, BACK_COST = 0.6, 0.8
"""A return costs less than a second error, and even less after a correcting word."""
WORDS_AROUND_FIELDS = procedure_words() | FIELD_LABELS | set(FILLER_WORDS)

StepKind = Literal["right", "wrong", "missing", "extra", "order", "filler", "procedure", "back"]
_Node = tuple[int, int]
"""How many recognised words are used, and the position reached."""


@dataclass(frozen=True, slots=True)
class AlignmentStep:
    """One step of an alignment.

    recognised: index of the recognised word, None if the step uses none. expected: the expected
    word, None if the step concerns none.
    """

    kind: StepKind
    recognised: int | None
    expected: ExpectedWord | None


@dataclass(frozen=True, slots=True)
class _Move:
    """A move from one node to another: its cost, the node reached, and its steps."""

    cost: float
    used: int
    position: int
    steps: tuple[AlignmentStep, ...]


def align_words(recognised: Sequence[str], graph: ExpectedGraph) -> tuple[AlignmentStep, ...]:
    """Return the cheapest alignment of recognised words with the expected ones, in order."""
    search = _Search(recognised, graph)
    start, goal = (0, 0), (len(recognised), graph.end)
    costs: dict[_Node, float] = {start: 0.0}
    arrivals: dict[_Node, tuple[_Node, tuple[AlignmentStep, ...]]] = {}
    tie_breaker = count()
    queue = [(0.0, next(tie_breaker), start)]
    while queue:
        cost, _, node = heappop(queue)
        if node == goal:
            break
        if cost > costs[node]:
            continue
        for move in search.moves(*node):
            target, total = (move.used, move.position), cost + move.cost
            if total < costs.get(target, float("inf")) - 1e-12:
                costs[target] = total
                arrivals[target] = (node, move.steps)
                heappush(queue, (total, next(tie_breaker), target))
    steps: list[AlignmentStep] = []
    node = goal
    while node != start:
        node, arrival_steps = arrivals[node]
        steps[:0] = arrival_steps
    return tuple(steps)


class _Search:
    """The moves that are possible from each node."""

    def __init__(self, recognised: Sequence[str], graph: ExpectedGraph) -> None:
        self._recognised = recognised
        self._end = graph.end
        leaving: defaultdict[int, list[ExpectedWord]] = defaultdict(list)
        for word in graph.words:
            leaving[word.source].append(word)
        self._leaving: Mapping[int, list[ExpectedWord]] = dict(leaving)

    def moves(self, used: int, position: int) -> Iterator[_Move]:
        """Yield every move after `used` recognised words at a position."""
        expected_words = self._leaving.get(position, [])
        for expected in expected_words:
            cost = ERROR_COST + ERROR_IN_OTHER_FORM_COST * (expected.form > 0)
            step = AlignmentStep("missing", None, expected)
            yield _Move(cost, used, expected.target, (step,))
        if used == len(self._recognised):
            return
        for expected in expected_words:
            yield from self._matches(used, expected)
        yield from self._unexpected(used, position)
        if position <= self._end:
            yield from self._returns(used, position)

    def _matches(self, used: int, expected: ExpectedWord) -> Iterator[_Move]:
        """Yield the moves that take the next recognised word, or two of them, as expected ones."""
        say = self._recognised[used]
        if expected.say == say:
            step = AlignmentStep("right", used, expected)
            yield _Move(FORM_COST * expected.form, used + 1, expected.target, (step,))
        elif say not in WORDS_AROUND_FIELDS:
            cost = ERROR_COST + ERROR_IN_OTHER_FORM_COST * (expected.form > 0)
            step = AlignmentStep("wrong", used, expected)
            yield _Move(cost, used + 1, expected.target, (step,))
        if used + 1 < len(self._recognised) and expected.say == self._recognised[used + 1] != say:
            for following in self._leaving.get(expected.target, ()):
                if following.say == say:
                    steps = (
                        AlignmentStep("order", used, following),
                        AlignmentStep("order", used + 1, expected),
                    )
                    yield _Move(ERROR_COST, used + 2, following.target, steps)

    def _unexpected(self, used: int, position: int) -> Iterator[_Move]:
        """Yield the moves that use the next recognised word without an expected one."""
        say = self._recognised[used]
        if say in FILLER_WORDS:
            yield _Move(0.0, used + 1, position, (AlignmentStep("filler", used, None),))
        elif say in WORDS_AROUND_FIELDS:
            yield _Move(0.0, used + 1, position, (AlignmentStep("procedure", used, None),))
        yield _Move(ERROR_COST, used + 1, position, (AlignmentStep("extra", used, None),))

    def _returns(self, used: int, position: int) -> Iterator[_Move]:
        """Yield the moves that go back and then say the word expected there correctly."""
        after_correcting = used and self._recognised[used - 1] in CORRECTING_WORDS
        cost = BACK_AFTER_CORRECTING_COST if after_correcting else BACK_COST
        for earlier in range(min(position, self._end)):
            for expected in self._leaving.get(earlier, ()):
                if expected.say == self._recognised[used]:
                    steps = (
                        AlignmentStep("back", None, None),
                        AlignmentStep("right", used, expected),
                    )
                    yield _Move(cost, used + 1, expected.target, steps)
