"""The language of the task: every call and every message, as a grammar made from `phonetics`.

`phonetics` is the one source of words, templates and fields; here is only how they may follow each
other. Forms of calls: ITU Radio Regulations No. 19.68. Weights and fillers are common practice, no
source.
"""

from collections.abc import Iterable
from functools import cache

from drill.recogniser.grammar import (
    Expression,
    Grammar,
    either,
    many,
    maybe,
    network,
    then,
    times,
    weighted,
)
from phonetics.alphabets import ITU_CODE_WORDS, alphabet_vocabulary, characters_from_words
from phonetics.exchanges import Exchange
from phonetics.exchanges import FieldRule as Rule
from phonetics.field_kinds import FIELD_KINDS
from phonetics.word_lists import given_names
from phonetics.numerals import ITU_FIGURES, number_vocabulary
from phonetics.phrases import EXCHANGE_TEMPLATES, FIELD_LABELS, OVER_TEMPLATES, PHRASE_TEMPLATES

FILLERS = ("uh", "um", "er")
RARE = 0.02
"""Weight of what is in the language and seldom said, against the common: ITU figures, letters in
place of digits, fillers."""
MOST_FIGURES = 12
UNIT = "watts"
_SPELT = ("area", "locator", "letter")
_NAMED = {"name": "names", "word": "words"}


@cache
def words_by_character() -> dict[str, tuple[str, ...]]:
    """Return the code words of each letter and digit, those of ITU and plain figures first."""
    found: dict[str, list[str]] = {}
    for word in sorted(alphabet_vocabulary() - {"portable", "mobile", "maritime"}):
        try:
            means = characters_from_words([word])
        except ValueError:  # "double": a part of a number, and no character by itself
            continue
        if len(means) == 1:
            found.setdefault(means, []).append(word)
    first = {word.lower() for word in ITU_CODE_WORDS.values()}
    return {
        character: tuple(sorted(words, key=lambda word: (word not in first, word)))
        for character, words in found.items()
    }


@cache
def procedure_words() -> frozenset[str]:
    """Return the words of all templates and labels: what is said around calls and fields."""
    templates = (
        *OVER_TEMPLATES,
        *EXCHANGE_TEMPLATES,
        *(text for texts in PHRASE_TEMPLATES.values() for text in texts),
    )
    spoken = {token.rstrip(",.") for text in templates for token in text.split()}
    return frozenset(word for word in spoken | FIELD_LABELS | {UNIT} if not word.startswith("{"))


def letter(*, alternates: bool) -> Expression:
    """Return one letter, by its ITU word or, with alternates, by any."""
    words = words_by_character()
    return either(
        word
        for character in ITU_CODE_WORDS
        for word in (words[character] if alternates else words[character][:1])
    )


def digit() -> Expression:
    """Return one digit in any way it is said."""
    rare = {word.lower() for word in ITU_FIGURES.values()}
    words = [word for character in ITU_FIGURES for word in words_by_character()[character]]
    return weighted(*((word, RARE if word in rare else 1.0) for word in words))


def _stroke() -> Expression:
    return either(words_by_character()["/"])


def call(*, alternates: bool) -> Expression:
    """Return any call: what may stand before a stroke, prefix, digit, suffix, what may follow."""
    one, number = letter(alternates=alternates), digit()
    prefix = weighted(
        (one, 1.0), (then(one, one), 1.0), (then(one, number), 1.0), (then(number, one), 1.0),
        (then(number, one, one), RARE), (then(one, one, one), RARE),
    )  # fmt: skip
    suffix = then(times(weighted((one, 1.0), (number, RARE)), 0, 3), one)
    before = then(
        weighted((one, 1.0), (then(one, one), 1.0), (then(one, number), 1.0),
                 (then(number, one), 1.0)),
        maybe(number), _stroke(),
    )  # fmt: skip
    after = weighted(
        (then(_stroke(), either([one, number, then(one, one), then(one, one, one)])), 1.0),
        ("portable", 1.0), ("mobile", 1.0), (then("maritime", "mobile"), 1.0),
    )  # fmt: skip
    return then(maybe(before, RARE), prefix, number, suffix, maybe(after, RARE))


def spelt(*, alternates: bool, most: int = 8) -> Expression:
    """Return letters and digits one by one."""
    return times(either([letter(alternates=alternates), digit()]), 1, most)


def number() -> Expression:
    """Return a number of up to MOST_FIGURES words: figures, pairs, doubles, hundreds, thousands."""
    pairs = sorted(
        word for word in number_vocabulary() - {"hundred", "thousand", "double"}
        if len(characters_from_words([word])) == 2
    )  # fmt: skip
    one = either(
        [digit(), either(pairs), then("double", digit()), "hundred", "thousand", "kilowatt"]
    )
    return then(maybe("number", RARE), times(one, 1, MOST_FIGURES), maybe(UNIT, RARE))


def field(rule: Rule, *, alternates: bool) -> Expression:
    """Return one field of an exchange, with its label or without."""
    label = FIELD_KINDS[rule.kind].label
    if rule.kind == "call":
        said = call(alternates=alternates)
    elif rule.kind in _SPELT:
        said = spelt(alternates=alternates)
    elif rule.kind in _NAMED:
        known: Iterable[str] = rule.options.get(_NAMED[rule.kind]) or given_names()
        name = either(sorted({word.lower() for word in known}))
        said = then(name, maybe(spelt(alternates=alternates, most=15), RARE))
    else:
        said = number()
    return then(maybe(label, RARE), said) if label else said


def calls(*, alternates: bool = False) -> Grammar:
    """Return the grammar of one call and nothing else."""
    return network("calls", call(alternates=alternates), FILLERS, RARE)


def characters(*, alternates: bool = True) -> Grammar:
    """Return the grammar of a single code word or figure."""
    one = either([letter(alternates=alternates), digit(), _stroke()])
    return network("characters", one)


def messages(exchange: Exchange | None, *, alternates: bool = False) -> Grammar:
    """Return the grammar of a whole over: calls and the exchange, among procedure words.

    exchange: None for overs without one.
    """
    slots = [call(alternates=alternates), spelt(alternates=alternates)]
    if exchange is not None:
        slots.append(then(*(field(rule, alternates=alternates) for rule in exchange.fields)))
    around = many(either(sorted(procedure_words())), RARE)
    over = then(around, times(then(either(slots), around), 0, 3))
    name = f"messages-{exchange.name if exchange else 'none'}"
    return network(name, over, FILLERS, RARE)
