"""A grammar in the form that the decoder searches: the units that may follow in each state.

A unit is the smallest thing that the decoder distinguishes: a character if the word is a code word
("kilo", "kilowatt" and "king" are all K), else the word itself. The probabilities of a unit's words
are added, so that doubt between two words for K is not doubt about K.
"""

import math
import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from drill.core.errors import UserError
from drill.recogniser.grammar import EPSILON, Grammar
from drill.recogniser.language import words_by_character
from drill.recogniser.own.vocabulary import Vocabulary

GRAMMAR_SCALE = 0.3
"""Factor on the grammar's log weights. CTC's probabilities are overconfident, so the weights count
less than they would against true probabilities."""


@dataclass(frozen=True, slots=True)
class Unit:
    """The smallest thing that the decoder distinguishes.

    name: a character or a word. words: for each token of the unit, the word that it represents in
    the grammar. whole: False for all but the last part of a word of several tokens.
    """

    name: str
    words: tuple[tuple[int, str], ...]
    whole: bool = True


@dataclass(frozen=True, kw_only=True, eq=False)
class WordNetwork:
    """The search space.

    units: all of them. successors: for each state, for each unit's number, the states that it leads
    to with log weights. start: states before the first word, with log weights. final: log weight of
    ending in a state.
    """

    units: tuple[Unit, ...]
    successors: tuple[Mapping[int, tuple[tuple[int, float], ...]], ...]
    start: tuple[tuple[int, float], ...]
    final: Mapping[int, float]

    def accepts(self, units: Sequence[int]) -> bool:
        """Return True if a sequence of units is in the grammar."""
        states = {state for state, _ in self.start}
        for unit in units:
            states = {after for s in states for after, _ in self.successors[s].get(unit, ())}
        return any(state in self.final for state in states)

    def fits(self, units: Sequence[int], place: int, unit: int) -> bool:
        """Return True if a unit may replace the one at a position while the others stay."""
        return unit == units[place] or self.accepts([*units[:place], unit, *units[place + 1 :]])


def _characters() -> dict[str, str]:
    return {word: character for character, words in words_by_character().items() for word in words}


class NetworkCache:
    """Search spaces of the last grammars, found by identity because hashing takes milliseconds.

    Safe in several threads.
    """

    def __init__(self, vocabulary: Vocabulary, size: int = 16) -> None:
        """Keep up to `size` search spaces for a vocabulary."""
        self._vocabulary, self._size = vocabulary, size
        self._kept: OrderedDict[int, tuple[Grammar, WordNetwork]] = OrderedDict()
        self._lock = threading.Lock()

    def network(self, grammar: Grammar) -> WordNetwork:
        """Return the search space of a grammar. Raises: UserError naming a word that is unknown."""
        with self._lock:
            if id(grammar) not in self._kept:
                self._kept[id(grammar)] = grammar, compile_grammar(grammar, self._vocabulary)
            self._kept.move_to_end(id(grammar))
            if len(self._kept) > self._size:
                self._kept.popitem(last=False)
            return self._kept[id(grammar)][1]


def compile_grammar(grammar: Grammar, vocabulary: Vocabulary) -> WordNetwork:
    """Return the search space of a grammar.

    Raises: UserError naming a word that the network does not know.
    """
    return _Compiler(grammar, vocabulary).network()


class _Compiler:
    """Numbers the units of a grammar and finds the successors of each state."""

    def __init__(self, grammar: Grammar, vocabulary: Vocabulary) -> None:
        self._grammar, self._vocabulary = grammar, vocabulary
        self._count = 1 + max(
            [grammar.final, *(max(arc.source, arc.target) for arc in grammar.arcs)]
        )
        self._characters = _characters()
        self._units: dict[tuple[str, bool], dict[int, str]] = {}
        self._numbers: dict[tuple[str, bool], int] = {}
        self._arcs: dict[int, list[tuple[int, int, float]]] = {}

    def network(self) -> WordNetwork:
        free: dict[int, list[tuple[int, float]]] = {}
        for arc in self._grammar.arcs:
            weight = GRAMMAR_SCALE * math.log(arc.weight)
            if arc.word == EPSILON:
                free.setdefault(arc.source, []).append((arc.target, weight))
            else:
                self._add_word(arc.source, arc.target, arc.word, weight)
        closures = [_closure(state, free) for state in range(self._count)]
        successors: list[dict[int, tuple[tuple[int, float], ...]]] = []
        for state in range(self._count):
            best: dict[int, dict[int, float]] = {}
            for unit, target, weight in self._arcs.get(state, ()):
                reached = closures[target].items() if target < len(closures) else ((target, 0.0),)
                for after, more in reached:
                    ends = best.setdefault(unit, {})
                    ends[after] = max(weight + more, ends.get(after, -math.inf))
            successors.append({unit: tuple(ends.items()) for unit, ends in best.items()})
        units = tuple(
            Unit(name, tuple(sorted(words.items())), whole)
            for (name, whole), words in self._units.items()
        )
        return WordNetwork(
            units=units,
            successors=tuple(successors),
            start=tuple(closures[0].items()),
            final={self._grammar.final: 0.0},
        )

    def _add_word(self, source: int, target: int, word: str, weight: float) -> None:
        tokens = self._vocabulary.tokens_of(word)
        if not tokens:
            raise UserError(
                f"the recogniser 'own' does not know the word {word!r}; "
                "use words of the call and message grammars"
            )
        for place, token in enumerate(tokens):
            last = place == len(tokens) - 1
            name = self._characters.get(word, word) if last and len(tokens) == 1 else word
            key = (name if last else f"{word}#{place}", last)
            self._units.setdefault(key, {}).setdefault(token, word)
            number = self._numbers.setdefault(key, len(self._numbers))
            after = target if last else self._count
            self._count += not last
            self._arcs.setdefault(source, []).append((number, after, weight if not place else 0.0))
            source = after


def _closure(state: int, free: Mapping[int, list[tuple[int, float]]]) -> dict[int, float]:
    """Return the states that epsilon arcs lead to, with the log weight of the best path."""
    best, waiting = {state: 0.0}, [state]
    while waiting:
        at = waiting.pop()
        for target, weight in free.get(at, ()):
            if best[at] + weight > best.get(target, -math.inf):
                best[target] = best[at] + weight
                waiting.append(target)
    return best
