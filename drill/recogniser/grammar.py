"""Grammars: which sequences of words a listener may hear, as a network of states and words.

Plain data that knows no engine. A network is built from expressions: a word, or what `then`,
`either`, `maybe`, `many` and `weighted` make of others.

Conventions: states are numbered from 0, the start; an arc without a word is free. A weight is a
probability in form alone: arcs that leave one state need not sum to 1, since what counts is only
how much likelier one way is than another.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import reduce
from typing import TypeAlias

FREE = ""
"""In place of a word: the arc is passed without one."""


@dataclass(frozen=True, slots=True)
class Arc:
    """A step from one state to another by a word, or FREE."""

    source: int
    target: int
    word: str
    weight: float = 1.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Grammar:
    """A network: the words along any way from state 0 to the final state are in its language."""

    name: str
    final: int
    arcs: tuple[Arc, ...]

    @property
    def words(self) -> frozenset[str]:
        """Return every word of the language."""
        return frozenset(arc.word for arc in self.arcs) - {FREE}

    def accepts(self, words: Iterable[str]) -> bool:
        """Return True where the words, in this order, are in the language."""
        steps: dict[tuple[int, str], set[int]] = {}
        for arc in self.arcs:
            steps.setdefault((arc.source, arc.word), set()).add(arc.target)
        states = _closure({0}, steps)
        for word in words:
            reached = {after for state in states for after in steps.get((state, word), ())}
            states = _closure(reached, steps)
        return self.final in states


def _closure(states: set[int], steps: dict[tuple[int, str], set[int]]) -> set[int]:
    found, waiting = set(states), list(states)
    while waiting:
        for after in steps.get((waiting.pop(), FREE), ()):
            if after not in found:
                found.add(after)
                waiting.append(after)
    return found


@dataclass(frozen=True, slots=True)
class Then:
    """One after the other."""

    parts: "tuple[Expression, ...]"


@dataclass(frozen=True, slots=True)
class Either:
    """One of them, each as likely as its weight."""

    parts: "tuple[tuple[Expression, float], ...]"


@dataclass(frozen=True, slots=True)
class Many:
    """None, one, or any number of them."""

    part: "Expression"
    weight: float


Expression: TypeAlias = str | Then | Either | Many


def then(*parts: Expression) -> Expression:
    """Return the parts one after the other."""
    return Then(parts)


def either(parts: Iterable[Expression], weight: float = 1.0) -> Expression:
    """Return a choice of the parts, of the same weight."""
    return Either(tuple((part, weight) for part in parts))


def weighted(*parts: tuple[Expression, float]) -> Expression:
    """Return a choice of parts and their weights."""
    return Either(parts)


def maybe(part: Expression, weight: float = 1.0) -> Expression:
    """Return the part or nothing."""
    return Either(((Then(()), 1.0), (part, weight)))


def many(part: Expression, weight: float = 1.0) -> Expression:
    """Return none or any number of the part."""
    return Many(part, weight)


def times(part: Expression, least: int, most: int) -> Expression:
    """Return the part from least to most times."""
    rest: Expression = Then(())
    rest = reduce(lambda after, _: maybe(then(part, after)), range(most - least), rest)
    return then(*[part] * least, rest)


@dataclass(slots=True)
class _Builder:
    """Numbers states and keeps arcs while an expression is turned into a network."""

    arcs: list[Arc] = field(default_factory=list)
    states: int = 2

    def state(self) -> int:
        self.states += 1
        return self.states - 1

    def build(self, part: Expression, source: int, target: int, weight: float = 1.0) -> None:
        """Add a part that leads from source to target."""
        match part:
            case str():
                self.arcs.append(Arc(source, target, part, weight))
            case Then(parts):
                between = [self.state() for _ in parts[1:]]
                if not parts:
                    self.arcs.append(Arc(source, target, FREE, weight))
                ends = [source, *between, target]
                for place, each in enumerate(parts):
                    self.build(each, ends[place], ends[place + 1], 1.0 if place else weight)
            case Either(parts):
                for each, own in parts:
                    self.build(each, source, target, weight * own)
            case Many(each, own):
                hub = self.state()
                self.arcs.append(Arc(source, hub, FREE, weight))
                self.build(each, hub, hub, own)
                self.arcs.append(Arc(hub, target, FREE))


def network(
    name: str, expression: Expression, fillers: Iterable[str] = (), weight: float = 1.0
) -> Grammar:
    """Return the network of an expression.

    fillers: words that may come at any place, any number of them, each of this weight.
    """
    builder = _Builder()
    builder.build(expression, 0, 1)
    loops = [Arc(state, state, word, weight) for state in range(builder.states) for word in fillers]
    return Grammar(name=name, final=1, arcs=(*builder.arcs, *loops))
