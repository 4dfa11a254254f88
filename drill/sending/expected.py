"""The expected words of a prompt as a graph that contains every accepted wording of every field.

drill.sending.take_grammar makes the recogniser's grammar from the graph, and drill.sending.align
compares recognised words with it.

Conventions: a unit is one character of a spelt field, or a whole field that is said as a number or
a word. Positions are numbered from 0; unit n leads from position n to position n + 1. Positions
above the number of units lie inside wordings of several words.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product
from random import Random

from drill.recogniser.language import words_by_character
from drill.sending.models import Prompt
from phonetics.field_kinds import FIELD_KINDS
from phonetics.message import Field
from phonetics.numerals import DIGIT_WORDS, digit_word
from phonetics.over_style import FIGURE_STYLES, ZERO_WORDS, OverStyle

WORD_KINDS = frozenset({"name", "word"})
"""Kinds of field that are said as a word, which may then be spelt."""
SPELT_KINDS = frozenset({"call", "area", "locator", "letter", "suffix"})
SEEDS_PER_STYLE = 6
"""Number of draws from each over style; together they give every wording of a field."""
_ENDING_WORDS = {"/P": ("portable",), "/M": ("mobile",), "/MM": ("maritime", "mobile")}


@dataclass(frozen=True, kw_only=True, slots=True)
class ExpectedUnit:
    """One unit to say: its characters, the name of its field, and its accepted wordings.

    means: the characters, "" for an opening word. forms: the wordings, each a sequence of words,
    the standard one first. may_be_spelt: True for a word that is followed by its letters, in any of
    their code words.
    """

    means: str
    field: str
    forms: tuple[tuple[str, ...], ...]
    may_be_spelt: bool = False


@dataclass(frozen=True, slots=True)
class ExpectedWord:
    """A word of a wording, leading from one position to the next.

    unit: index of the unit. form: index of the wording within the unit.
    """

    source: int
    target: int
    say: str
    unit: int
    form: int


@dataclass(frozen=True, kw_only=True, slots=True)
class ExpectedGraph:
    """The expected words of a prompt and the units that they belong to."""

    units: tuple[ExpectedUnit, ...]
    words: tuple[ExpectedWord, ...]

    @property
    def end(self) -> int:
        """The position at which everything has been said."""
        return len(self.units)


def expected_units(prompt: Prompt) -> tuple[ExpectedUnit, ...]:
    """Return the units of a prompt in order."""
    units: list[ExpectedUnit] = []
    if prompt.opening:
        forms = tuple((word,) for word in prompt.opening)
        units.append(ExpectedUnit(means="", field="opening", forms=forms))
    for field in prompt.fields:
        units += _spelt_units(field) if field.kind in SPELT_KINDS else [_whole_unit(field)]
    return tuple(units)


def _spelt_units(field: Field) -> Iterator[ExpectedUnit]:
    """Yield a unit for each character; the ending of a portable call is one unit."""
    text, ending = field.text, ""
    for possible_ending in _ENDING_WORDS:
        if field.kind == "call" and text.endswith(possible_ending):
            text, ending = text.removesuffix(possible_ending), possible_ending
    for character in text:
        forms = tuple((word,) for word in code_words(character))
        yield ExpectedUnit(means=character, field=field.name, forms=forms)
    if ending:
        spelt = product(*(code_words(character)[:2] for character in ending))
        yield ExpectedUnit(means=ending, field=field.name, forms=(*spelt, _ENDING_WORDS[ending]))


@cache
def code_words(character: str) -> tuple[str, ...]:
    """Return the words for a character: the ITU's, a plain digit or "stroke" first."""
    words = words_by_character()[character]
    plain = {"/": "stroke", **{str(digit): word for digit, word in enumerate(DIGIT_WORDS)}}
    return tuple(sorted(words, key=lambda word: word != plain.get(character, words[0])))


@cache
def digit_words(say: str) -> tuple[str, ...]:
    """Return a word and, if it is a digit in plain or ICAO words, the other word for that digit."""
    words: tuple[str, ...] = (say,)
    for digit in "0123456789":
        pair = [digit_word(digit, OverStyle(figures=figures)) for figures in ("plain", "icao")]
        if say in pair:
            words = tuple(dict.fromkeys((say, *pair)))
    return words


def _whole_unit(field: Field) -> ExpectedUnit:
    """Return the unit of a number or word, with the wordings of all over styles."""
    forms: dict[tuple[str, ...], None] = {}  # dict.fromkeys works as an ordered set
    flags = (False, True)
    for zero, figures, pairs, doubles, drop_zeros, seed in product(
        ZERO_WORDS, FIGURE_STYLES, flags, flags, flags, range(SEEDS_PER_STYLE)
    ):
        over_style = OverStyle(
            zero=zero, figures=figures, pairs=pairs, doubles=doubles, drop_zeros=drop_zeros
        )
        words = FIELD_KINDS[field.kind].say(field.text, over_style, Random(seed), field.name)
        forms[tuple(word.say for word in words)] = None
    is_word = field.kind in WORD_KINDS
    ordered = sorted(forms, key=len) if is_word else list(forms)
    return ExpectedUnit(
        means=field.text, field=field.name, forms=tuple(ordered), may_be_spelt=is_word
    )


@cache
def expected_graph(prompt: Prompt) -> ExpectedGraph:
    """Return the graph of a prompt."""
    units = expected_units(prompt)
    words: list[ExpectedWord] = []
    next_position = len(units) + 1
    for index, unit in enumerate(units):
        for form_index, form in enumerate(unit.forms):
            within = range(next_position, next_position + len(form) - 1)
            next_position += len(within)
            positions = [index, *within, index + 1]
            for place, say in enumerate(form):
                is_letter = unit.may_be_spelt and place > 0
                choices = code_words(unit.means[place - 1]) if is_letter else (say,)
                if len(form) > 1 and not is_letter:  # in a number, a digit of either kind will do
                    choices = digit_words(say)
                words += [
                    ExpectedWord(positions[place], positions[place + 1], choice, index, form_index)
                    for choice in choices
                ]
    return ExpectedGraph(units=units, words=tuple(words))
