"""What a prompt wants to hear, as a graph: every field, character by character, in every form.

The same graph gives the grammar that a listener is to hear the take with, and the scale that the
words heard are held against (drill.sending.align).

Conventions: positions are numbered from 0; unit n leads from one position to a later one. A unit is
one character of what is spelt, or a whole field of what is said as a number or a name.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product
from random import Random

from drill.recogniser.grammar import EPSILON, Arc, Grammar
from drill.recogniser.language import FILLER_WORDS, procedure_words, words_by_character
from drill.sending.models import Prompt
from phonetics.field_kinds import FIELD_KINDS
from phonetics.message import Field
from phonetics.numerals import DIGIT_WORDS
from phonetics.over_style import FIGURE_STYLES, ZERO_WORDS, OverStyle
from phonetics.phrases import FIELD_LABELS

CORRECTING = ("correction", "negative", "no", "sorry")
"""Words after which an operator begins again."""
NAMED = frozenset({"name", "word"})
SPELT = frozenset({"call", "area", "locator", "letter", "suffix"})
_SENSES = {"/P": ("portable",), "/M": ("mobile",), "/MM": ("maritime", "mobile")}


@dataclass(frozen=True, kw_only=True, slots=True)
class Unit:
    """One thing to be said: its characters, its field, and its forms, the standard one first.

    A form is a sequence of words. named: a name, after which its letters may be spelt in any words.
    """

    means: str
    field: str
    forms: tuple[tuple[str, ...], ...]
    named: bool = False


def units(prompt: Prompt) -> tuple[Unit, ...]:
    """Return the units of a prompt in their order."""
    found: list[Unit] = []
    if prompt.opening:
        forms = tuple((word,) for word in prompt.opening)
        found.append(Unit(means="", field="opening", forms=forms))
    for field in prompt.fields:
        found += _spelt(field) if field.kind in SPELT else [_whole(field)]
    return tuple(found)


def _spelt(field: Field) -> Iterator[Unit]:
    text, sense = field.text, ""
    for ending in _SENSES:
        if field.kind == "call" and text.endswith(ending):
            text, sense = text.removesuffix(ending), ending
    for character in text:
        forms = tuple((word,) for word in _code_words(character))
        yield Unit(means=character, field=field.name, forms=forms)
    if sense:
        spelt = product(*(_code_words(character)[:2] for character in sense))
        yield Unit(means=sense, field=field.name, forms=(*spelt, _SENSES[sense]))


@cache
def _code_words(character: str) -> tuple[str, ...]:
    """Return the words of a character; figures plain first, the stroke as "stroke" first."""
    words = words_by_character()[character]
    plain = {"/": "stroke", **{str(n): word for n, word in enumerate(DIGIT_WORDS)}}
    return tuple(sorted(words, key=lambda word: word != plain.get(character, words[0])))


def _whole(field: Field) -> Unit:
    """Return a field that is said as a number or a name, in every way that an operator has."""
    forms: dict[tuple[str, ...], None] = {}
    for zero, figures, pairs, doubles, drop, seed in product(
        ZERO_WORDS, FIGURE_STYLES, (False, True), (False, True), (False, True), range(6)
    ):
        over_style = OverStyle(
            zero=zero, figures=figures, pairs=pairs, doubles=doubles, drop_zeros=drop
        )
        said = FIELD_KINDS[field.kind].say(field.text, over_style, Random(seed), field.name)
        forms[tuple(word.say for word in said)] = None
    named = field.kind in NAMED
    found = sorted(forms, key=len) if named else list(forms)
    return Unit(means=field.text, field=field.name, forms=tuple(found), named=named)


@dataclass(frozen=True, slots=True)
class Edge:
    """A word of a form, from one position to the next; unit and form are counted from 0."""

    source: int
    target: int
    say: str
    unit: int
    form: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Wanted:
    """The graph of a prompt: its units, the positions between them, and the words that lead on."""

    units: tuple[Unit, ...]
    edges: tuple[Edge, ...]
    positions: int

    @property
    def end(self) -> int:
        """Return the position where all has been said."""
        return len(self.units)


@cache
def wanted(prompt: Prompt) -> Wanted:
    """Return the graph of a prompt: positions 0 to n before and after its n units, then others."""
    parts = units(prompt)
    edges, free = [], len(parts) + 1
    for place, unit in enumerate(parts):
        for number, form in enumerate(unit.forms):
            ends = [place, *range(free, free + len(form) - 1), place + 1]
            free += len(form) - 1
            for at, say in enumerate(form):
                ways = _code_words(unit.means[at - 1]) if unit.named and at else (say,)
                edges += [Edge(ends[at], ends[at + 1], way, place, number) for way in ways]
    return Wanted(units=parts, edges=tuple(edges), positions=free)


@cache
def characters_spoken(*, alternates: bool) -> tuple[str, ...]:
    """Return the words that may be said in place of a wanted one.

    They are the ITU's letters and plain figures; alternates: every other word for a letter too.
    """
    return tuple(
        word
        for character in words_by_character()
        for word in _code_words(character)[: None if alternates and character.isalpha() else 1]
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Odds:
    """How likely each step is against saying what is wanted in its first form."""

    form: float = 0.05
    wrong: float = 0.03
    missing: float = 0.003
    extra: float = 0.01
    around: float = 0.05
    back: float = 0.02
    filler: float = 0.02
    alternates: bool = False
    """Whether other words than the ITU's may be said in place of wanted ones too."""


EXPECTING = Odds()
OPEN = Odds(form=1.0, wrong=1.0, alternates=True)
"""Without a leaning to what is wanted: what is heard wrongly here and there alike is wrong."""


def grammar(graph: Wanted, odds: Odds) -> Grammar:
    """Return the grammar of a take: what is wanted, and every way to miss it, less likely."""
    arcs = []
    spoken = characters_spoken(alternates=odds.alternates)
    standard = characters_spoken(alternates=False)
    for edge in graph.edges:
        arcs.append(Arc(edge.source, edge.target, edge.say, odds.form if edge.form else 1.0))
        if edge.form:
            continue
        arcs.append(Arc(edge.source, edge.target, EPSILON, odds.missing))
        if graph.units[edge.unit].means:
            others = [word for word in spoken if word != edge.say]
            arcs += [Arc(edge.source, edge.target, word, odds.wrong) for word in others]
    starts = [at for at in range(graph.end) if at == 0 or _begins(graph, at)]
    for place in range(graph.end + 1):
        arcs += [Arc(place, place, word, odds.extra) for word in standard]
        backs = {before for before in (place - 1, *starts) if 0 <= before < place}
        arcs += [Arc(place, before, EPSILON, odds.back) for before in sorted(backs)]
        if place in (*starts, graph.end):
            around = sorted(procedure_words() | FIELD_LABELS)
        else:
            around = list(CORRECTING)
        arcs += [Arc(place, place, word, odds.around) for word in around]
        arcs += [Arc(place, place, word, odds.filler) for word in FILLER_WORDS]
    return Grammar(name="take", final=graph.end, arcs=tuple(arcs))


def _begins(graph: Wanted, at: int) -> bool:
    """Return True where a field begins at this position."""
    return graph.units[at].field != graph.units[at - 1].field
