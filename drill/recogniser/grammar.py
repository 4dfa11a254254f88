"""Grammars: networks that define which sequences of words a recogniser may return.

A grammar is a finite-state network whose arcs carry words; it is plain data, independent of any
engine. `build_grammar` makes one from an expression: a word, or a combination of expressions by
`sequence`, `choice`, `weighted_choice`, `optional`, `any_number` and `repeat`.

Conventions: states are numbered from 0, the initial state. An arc without a word (epsilon arc) is
taken without speech. A weight says how likely an arc is compared with others; the weights of the
arcs that leave a state need not add up to 1.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import reduce
from typing import TypeAlias

EPSILON = ""
"""The word of an arc that is taken without speech."""


@dataclass(frozen=True, slots=True)
class Arc:
    """A transition from one state to another; word: the spoken word, or EPSILON."""

    source: int
    target: int
    word: str
    weight: float = 1.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Grammar:
    """A network of words. Its language: the words along every path from state 0 to `final`."""

    name: str
    final: int
    arcs: tuple[Arc, ...]

    @property
    def words(self) -> frozenset[str]:
        """Every word that occurs in the language."""
        return frozenset(arc.word for arc in self.arcs) - {EPSILON}

    def accepts(self, words: Iterable[str]) -> bool:
        """Return True if this sequence of words is in the language."""
        targets: dict[tuple[int, str], set[int]] = {}
        for arc in self.arcs:
            targets.setdefault((arc.source, arc.word), set()).add(arc.target)
        states = _epsilon_closure({0}, targets)
        for word in words:
            reached = {target for state in states for target in targets.get((state, word), ())}
            states = _epsilon_closure(reached, targets)
        return self.final in states


def _epsilon_closure(states: set[int], targets: dict[tuple[int, str], set[int]]) -> set[int]:
    """Return the states and all states that they reach by epsilon arcs."""
    closure, waiting = set(states), list(states)
    while waiting:
        for target in targets.get((waiting.pop(), EPSILON), ()):
            if target not in closure:
                closure.add(target)
                waiting.append(target)
    return closure


@dataclass(frozen=True, slots=True)
class Concatenation:
    """The parts one after another; without parts, nothing is spoken."""

    parts: "tuple[Expression, ...]"


@dataclass(frozen=True, slots=True)
class Alternation:
    """Exactly one of the parts, each with its weight."""

    parts: "tuple[tuple[Expression, float], ...]"


@dataclass(frozen=True, slots=True)
class Repetition:
    """The part zero or more times; weight: weight of each repetition."""

    part: "Expression"
    weight: float


Expression: TypeAlias = str | Concatenation | Alternation | Repetition


def sequence(*parts: Expression) -> Expression:
    """Return the parts one after another."""
    return Concatenation(parts)


def choice(parts: Iterable[Expression], weight: float = 1.0) -> Expression:
    """Return exactly one of the parts, each with the same weight."""
    return Alternation(tuple((part, weight) for part in parts))


def weighted_choice(*parts: tuple[Expression, float]) -> Expression:
    """Return exactly one of the parts; each comes with its weight."""
    return Alternation(parts)


def optional(part: Expression, weight: float = 1.0) -> Expression:
    """Return the part or nothing; weight: weight of the part, relative to 1 for nothing."""
    return Alternation(((Concatenation(()), 1.0), (part, weight)))


def any_number(part: Expression, weight: float = 1.0) -> Expression:
    """Return the part zero or more times."""
    return Repetition(part, weight)


def repeat(part: Expression, at_least: int, at_most: int) -> Expression:
    """Return the part at_least to at_most times."""
    rest: Expression = Concatenation(())
    rest = reduce(
        lambda following, _: optional(sequence(part, following)), range(at_most - at_least), rest
    )
    return sequence(*[part] * at_least, rest)


@dataclass(slots=True)
class _NetworkBuilder:
    """Collects arcs and numbers states while an expression becomes a network."""

    arcs: list[Arc] = field(default_factory=list)
    state_count: int = 2

    def new_state(self) -> int:
        self.state_count += 1
        return self.state_count - 1

    def add(self, part: Expression, source: int, target: int, weight: float = 1.0) -> None:
        """Add arcs for an expression from source to target."""
        match part:
            case str():
                self.arcs.append(Arc(source, target, part, weight))
            case Concatenation(parts):
                between = [self.new_state() for _ in parts[1:]]
                if not parts:
                    self.arcs.append(Arc(source, target, EPSILON, weight))
                states = [source, *between, target]
                for index, member in enumerate(parts):
                    self.add(member, states[index], states[index + 1], 1.0 if index else weight)
            case Alternation(parts):
                for member, member_weight in parts:
                    self.add(member, source, target, weight * member_weight)
            case Repetition(member, member_weight):
                hub = self.new_state()
                self.arcs.append(Arc(source, hub, EPSILON, weight))
                self.add(member, hub, hub, member_weight)
                self.arcs.append(Arc(hub, target, EPSILON))


def build_grammar(
    name: str, expression: Expression, fillers: Iterable[str] = (), filler_weight: float = 1.0
) -> Grammar:
    """Return the grammar of an expression.

    fillers: words that may be spoken anywhere, any number of times, each with filler_weight.
    """
    builder = _NetworkBuilder()
    builder.add(expression, 0, 1)
    loops = [
        Arc(state, state, word, filler_weight)
        for state in range(builder.state_count)
        for word in fillers
    ]
    return Grammar(name=name, final=1, arcs=(*builder.arcs, *loops))
