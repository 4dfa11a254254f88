"""Words heard against words wanted: the cheapest account of how one came from the other.

The edit distance of Levenshtein over the graph of the prompt, every form of a field being a way
through it, with two steps more: neighbours in the wrong order (Damerau), and going back, as one
does who repeats or corrects himself. Found by Dijkstra's algorithm over pairs of words heard and
position reached. Source: Levenshtein 1966, Damerau 1964; the costs of going back are this
project's own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count

from drill.recogniser.language import FILLER_WORDS, procedure_words
from drill.sending.expected import CORRECTING, Edge, Wanted
from phonetics.phrases import FIELD_LABELS

WRONG = MISSING = EXTRA = ORDER = 1.0
FORM = 0.001
"""Decides between forms that the words heard fit alike."""
BACK_CORRECTING, BACK = 0.6, 0.8
"""Going back after a correcting word and without one: cheaper than a second mistake, dearer than
none."""
OTHER_FORM = 0.1
"""A mistake is rather one in the standard form than in another."""
AROUND, FILLER = 0.0, 0.0
AROUND_WORDS = procedure_words() | FIELD_LABELS | set(FILLER_WORDS)


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the account.

    kind: right, wrong, missing, extra, order, filler, procedure or back. heard: place of the word
    among those heard, None for none. edge: the wanted word that it concerns, None for none. to: the
    position that it leads to.
    """

    kind: str
    heard: int | None
    edge: Edge | None
    to: int


Move = tuple[float, int, int, tuple[Step, ...]]


def align(heard: Sequence[str], graph: Wanted) -> tuple[Step, ...]:
    """Return the steps of the cheapest account of the words heard, in their order."""
    leading: dict[int, list[Edge]] = {}
    for edge in graph.edges:
        leading.setdefault(edge.source, []).append(edge)
    start, goal = (0, 0), (len(heard), graph.end)
    best: dict[tuple[int, int], float] = {start: 0.0}
    came: dict[tuple[int, int], tuple[tuple[int, int], tuple[Step, ...]]] = {}
    order = count()
    waiting = [(0.0, next(order), start)]
    while waiting:
        cost, _, here = heappop(waiting)
        if here == goal:
            break
        if cost > best[here]:
            continue
        for price, at, position, steps in _moves(here, heard, graph, leading):
            there, total = (at, position), cost + price
            if total < best.get(there, float("inf")) - 1e-12:
                best[there] = total
                came[there] = (here, steps)
                heappush(waiting, (total, next(order), there))
    found: list[Step] = []
    here = goal
    while here != start:
        here, steps = came[here]
        found[:0] = steps
    return tuple(found)


def _moves(
    here: tuple[int, int], heard: Sequence[str], graph: Wanted, leading: dict[int, list[Edge]]
) -> Iterator[Move]:
    """Give every step from a pair of words heard so far and position reached."""
    at, position = here
    for edge in leading.get(position, ()):
        price = MISSING + OTHER_FORM * (edge.form > 0)
        yield price, at, edge.target, (Step("missing", None, edge, edge.target),)
    if at == len(heard):
        return
    for edge in leading.get(position, ()):
        yield from _said(at, heard, edge, leading.get(edge.target, ()))
    yield from _spare(at, heard, position)
    if position <= graph.end:
        price = BACK_CORRECTING if at and heard[at - 1] in CORRECTING else BACK
        for before in range(min(position, graph.end)):
            # Going back is told by what is then said rightly.
            for edge in leading.get(before, ()):
                if edge.say == heard[at]:
                    steps = (Step("back", None, None, before), Step("right", at, edge, edge.target))
                    yield price, at + 1, edge.target, steps


def _said(at: int, heard: Sequence[str], edge: Edge, following: Sequence[Edge]) -> Iterator[Move]:
    """Give the steps that take a word heard for a wanted one."""
    word = heard[at]
    if edge.say == word:
        yield FORM * edge.form, at + 1, edge.target, (Step("right", at, edge, edge.target),)
    elif word not in AROUND_WORDS:
        price = WRONG + OTHER_FORM * (edge.form > 0)
        yield price, at + 1, edge.target, (Step("wrong", at, edge, edge.target),)
    if at + 1 < len(heard) and edge.say == heard[at + 1] != word:
        for after in following:
            if after.say == word:
                steps = (
                    Step("order", at, after, edge.target),
                    Step("order", at + 1, edge, after.target),
                )
                yield ORDER, at + 2, after.target, steps


def _spare(at: int, heard: Sequence[str], position: int) -> Iterator[Move]:
    """Give the steps that take a word heard for none of the wanted ones."""
    word = heard[at]
    if word in FILLER_WORDS:
        yield FILLER, at + 1, position, (Step("filler", at, None, position),)
    elif word in AROUND_WORDS:
        yield AROUND, at + 1, position, (Step("procedure", at, None, position),)
    yield EXTRA, at + 1, position, (Step("extra", at, None, position),)
