"""The grammar for recognising a take: the expected words, and all deviations from them."""

from dataclasses import dataclass
from functools import cache

from drill.recogniser.grammar import EPSILON, Arc, Grammar
from drill.recogniser.language import FILLER_WORDS, procedure_words, words_by_character
from drill.sending.expected import ExpectedGraph, code_words
from phonetics.phrases import FIELD_LABELS

CORRECTING_WORDS = ("correction", "negative", "no", "sorry")
"""Words after which an operator starts over."""


@dataclass(frozen=True, kw_only=True, slots=True)
class TakeGrammarWeights:
    """Weights of deviations, relative to 1 for the expected word in its standard wording.

    form: another wording. wrong: another word instead. missing: an omitted word. extra: an
    additional word. around: a procedure word or field label. back: a return to an earlier position.
    filler: a filler word. alternates: whether words other than the ITU's may be recognised in place
    of the expected one.
    """

    form: float = 0.05
    wrong: float = 0.03
    missing: float = 0.003
    extra: float = 0.01
    around: float = 0.05
    back: float = 0.02
    filler: float = 0.02
    alternates: bool = False


BIASED_WEIGHTS = TakeGrammarWeights()
"""Favours the expected words, so that a correct take is recognised reliably."""
UNBIASED_WEIGHTS = TakeGrammarWeights(form=1.0, wrong=1.0, alternates=True)
"""Favours no word. An error that is recognised with both sets of weights is a real error."""


@cache
def substitute_words(*, alternates: bool) -> tuple[str, ...]:
    """Return the words that may be recognised in place of an expected one.

    They are the ITU's code words and the plain digits; with alternates, every word for a letter.
    """
    return tuple(
        word
        for character in words_by_character()
        for word in code_words(character)[: None if alternates and character.isalpha() else 1]
    )


def take_grammar(graph: ExpectedGraph, weights: TakeGrammarWeights) -> Grammar:
    """Return the grammar of a take. States up to graph.end are the positions between units."""
    arcs = _expected_arcs(graph, weights)
    field_starts = [position for position in range(graph.end) if _starts_field(graph, position)]
    for position in range(graph.end + 1):
        arcs += _arcs_between_units(position, graph.end, field_starts, weights)
    return Grammar(name="take", final=graph.end, arcs=tuple(arcs))


def _expected_arcs(graph: ExpectedGraph, weights: TakeGrammarWeights) -> list[Arc]:
    """Return arcs for each expected word, for its omission, and for its replacements."""
    arcs = []
    substitutes = substitute_words(alternates=weights.alternates)
    for word in graph.words:
        weight = weights.form if word.form else 1.0
        arcs.append(Arc(word.source, word.target, word.say, weight))
        if word.form:
            continue
        arcs.append(Arc(word.source, word.target, EPSILON, weights.missing))
        if graph.units[word.unit].means:
            arcs += [
                Arc(word.source, word.target, substitute, weights.wrong)
                for substitute in substitutes
                if substitute != word.say
            ]
    return arcs


def _arcs_between_units(
    position: int, end: int, field_starts: list[int], weights: TakeGrammarWeights
) -> list[Arc]:
    """Return arcs for extra words and returns at a position between two units."""
    arcs = [
        Arc(position, position, word, weights.extra) for word in substitute_words(alternates=False)
    ]
    targets = {target for target in (position - 1, *field_starts) if 0 <= target < position}
    arcs += [Arc(position, target, EPSILON, weights.back) for target in sorted(targets)]
    is_field_boundary = position in (*field_starts, end)
    around = sorted(procedure_words() | FIELD_LABELS) if is_field_boundary else CORRECTING_WORDS
    arcs += [Arc(position, position, word, weights.around) for word in around]
    arcs += [Arc(position, position, word, weights.filler) for word in FILLER_WORDS]
    return arcs


def _starts_field(graph: ExpectedGraph, position: int) -> bool:
    """Return True if a field begins at this position."""
    return position == 0 or graph.units[position].field != graph.units[position - 1].field
