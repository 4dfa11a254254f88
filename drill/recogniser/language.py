"""The language of the drill: every call and every message, as grammars made from `phonetics`.

`phonetics` defines the words, templates and fields; this module defines the order in which they may
be spoken. Functions named `..._expression` return parts of grammars, those named `..._grammar`
whole ones. alternates: whether letters may be spoken with other words than the ITU's.

Source: forms of calls by ITU Radio Regulations No. 19.68; weights and fillers are common practice,
no source.
"""

from collections.abc import Iterable
from functools import cache

from drill.recogniser.grammar import (
    Expression,
    Grammar,
    any_number,
    build_grammar,
    choice,
    optional,
    repeat,
    sequence,
    weighted_choice,
)
from phonetics.alphabets import ITU_CODE_WORDS, alphabet_vocabulary, characters_from_words
from phonetics.exchanges import Exchange, FieldRule
from phonetics.field_kinds import FIELD_KINDS
from phonetics.numerals import ITU_FIGURES, number_vocabulary
from phonetics.phrases import EXCHANGE_TEMPLATES, FIELD_LABELS, OVER_TEMPLATES, PHRASE_TEMPLATES
from phonetics.word_lists import given_names

FILLER_WORDS = ("uh", "um", "er")
RARE_WEIGHT = 0.02
"""Weight of rarely spoken words, such as ITU figures, digits in place of letters, and fillers."""
MAX_NUMBER_WORDS = 12
MAX_SPELT_CHARACTERS = 8
MAX_NAME_LETTERS = 15
POWER_UNIT = "watts"
_SPELT_KINDS = ("area", "locator", "letter")
_WORD_OPTIONS = {"name": "names", "word": "words"}
"""Field kinds that are spoken as a word, and the option of the exchange that lists the words."""


@cache
def words_by_character() -> dict[str, tuple[str, ...]]:
    """Return the code words of each letter, digit and the stroke.

    The ITU's word for a letter comes first, the rest is in alphabetical order.
    """
    words_of: dict[str, list[str]] = {}
    for word in sorted(alphabet_vocabulary() - {"portable", "mobile", "maritime"}):
        try:
            characters = characters_from_words([word])
        except ValueError:
            # "double" is part of a number and does not represent a character by itself.
            continue
        if len(characters) == 1:
            words_of.setdefault(characters, []).append(word)
    itu_words = {word.lower() for word in ITU_CODE_WORDS.values()}
    return {
        character: tuple(sorted(words, key=lambda word: (word not in itu_words, word)))
        for character, words in words_of.items()
    }


@cache
def procedure_words() -> frozenset[str]:
    """Return the words around calls and fields: all words of templates and labels."""
    templates = (
        *OVER_TEMPLATES,
        *EXCHANGE_TEMPLATES,
        *(text for texts in PHRASE_TEMPLATES.values() for text in texts),
    )
    spoken = {token.rstrip(",.") for text in templates for token in text.split()}
    return frozenset(
        word for word in spoken | FIELD_LABELS | {POWER_UNIT} if not word.startswith("{")
    )


def letter_expression(*, alternates: bool) -> Expression:
    """Return one letter."""
    words = words_by_character()
    return choice(
        word
        for character in ITU_CODE_WORDS
        for word in (words[character] if alternates else words[character][:1])
    )


def digit_expression() -> Expression:
    """Return one digit in any of its words."""
    rare_words = {word.lower() for word in ITU_FIGURES.values()}
    words = [word for character in ITU_FIGURES for word in words_by_character()[character]]
    return weighted_choice(*((word, RARE_WEIGHT if word in rare_words else 1.0) for word in words))


def stroke_expression() -> Expression:
    """Return a stroke, "/"."""
    return choice(words_by_character()["/"])


def call_expression(*, alternates: bool) -> Expression:
    """Return any call: place before a stroke, prefix, digit, suffix, ending after a stroke."""
    letter, digit = letter_expression(alternates=alternates), digit_expression()
    stroke = stroke_expression()
    prefix = weighted_choice(
        (letter, 1.0), (sequence(letter, letter), 1.0), (sequence(letter, digit), 1.0),
        (sequence(digit, letter), 1.0), (sequence(digit, letter, letter), RARE_WEIGHT),
        (sequence(letter, letter, letter), RARE_WEIGHT),
    )  # fmt: skip
    suffix = sequence(repeat(weighted_choice((letter, 1.0), (digit, RARE_WEIGHT)), 0, 3), letter)
    before = sequence(
        weighted_choice((letter, 1.0), (sequence(letter, letter), 1.0),
                        (sequence(letter, digit), 1.0), (sequence(digit, letter), 1.0)),
        optional(digit), stroke,
    )  # fmt: skip
    ending = choice([letter, digit, sequence(letter, letter), sequence(letter, letter, letter)])
    after = weighted_choice(
        (sequence(stroke, ending), 1.0),
        ("portable", 1.0), ("mobile", 1.0), (sequence("maritime", "mobile"), 1.0),
    )  # fmt: skip
    return sequence(
        optional(before, RARE_WEIGHT), prefix, digit, suffix, optional(after, RARE_WEIGHT)
    )


def spelt_expression(*, alternates: bool, at_most: int = MAX_SPELT_CHARACTERS) -> Expression:
    """Return 1 to at_most letters and digits, spoken one by one."""
    return repeat(
        choice([letter_expression(alternates=alternates), digit_expression()]), 1, at_most
    )


def number_expression() -> Expression:
    """Return a number of 1 to MAX_NUMBER_WORDS words: digits, pairs, doubles, hundreds, thousands.

    "number" may precede it and the unit of power may follow.
    """
    pairs = sorted(
        word for word in number_vocabulary() - {"hundred", "thousand", "double"}
        if len(characters_from_words([word])) == 2
    )  # fmt: skip
    digit = digit_expression()
    part = choice(
        [digit, choice(pairs), sequence("double", digit), "hundred", "thousand", "kilowatt"]
    )
    return sequence(
        optional("number", RARE_WEIGHT),
        repeat(part, 1, MAX_NUMBER_WORDS),
        optional(POWER_UNIT, RARE_WEIGHT),
    )


def field_expression(rule: FieldRule, *, alternates: bool) -> Expression:
    """Return one field of an exchange, with or without its label."""
    label = FIELD_KINDS[rule.kind].label
    if rule.kind == "call":
        value = call_expression(alternates=alternates)
    elif rule.kind in _SPELT_KINDS:
        value = spelt_expression(alternates=alternates)
    elif rule.kind in _WORD_OPTIONS:
        listed: Iterable[str] = rule.options.get(_WORD_OPTIONS[rule.kind]) or given_names()
        word = choice(sorted({name.lower() for name in listed}))
        spelling = spelt_expression(alternates=alternates, at_most=MAX_NAME_LETTERS)
        value = sequence(word, optional(spelling, RARE_WEIGHT))
    else:
        value = number_expression()
    return sequence(optional(label, RARE_WEIGHT), value) if label else value


def call_grammar(*, alternates: bool = False) -> Grammar:
    """Return the grammar of one call and nothing else."""
    expression = call_expression(alternates=alternates)
    return build_grammar("calls", expression, FILLER_WORDS, RARE_WEIGHT)


def character_grammar(*, alternates: bool = True) -> Grammar:
    """Return the grammar of a single code word for a letter, digit or stroke."""
    parts = [letter_expression(alternates=alternates), digit_expression(), stroke_expression()]
    return build_grammar("characters", choice(parts))


def message_grammar(exchange: Exchange | None, *, alternates: bool = False) -> Grammar:
    """Return the grammar of a whole over: calls and the exchange among procedure words.

    exchange: None for overs without one.
    """
    slots = [call_expression(alternates=alternates), spelt_expression(alternates=alternates)]
    if exchange is not None:
        fields = (field_expression(rule, alternates=alternates) for rule in exchange.fields)
        slots.append(sequence(*fields))
    around = any_number(choice(sorted(procedure_words())), RARE_WEIGHT)
    over = sequence(around, repeat(sequence(choice(slots), around), 0, 3))
    name = f"messages-{exchange.name if exchange else 'none'}"
    return build_grammar(name, over, FILLER_WORDS, RARE_WEIGHT)
