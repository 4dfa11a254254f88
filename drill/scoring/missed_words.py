"""Joins an answer to the spoken words: which words were missed, and the text typed for each."""

from collections.abc import Iterator, Sequence

from drill.core.models import FieldScore, Pair
from phonetics.message import Message


def missed_words(message: Message, scores: Sequence[FieldScore]) -> frozenset[int]:
    """Return the numbers, from 0, of the words with a character that was typed wrongly or not at
    all.

    If a field is said twice, its words are marked both times. Leading zeros that the operator omits
    belong to no word.
    """
    missed: set[int] = set()
    for score in scores:
        if score.right:
            continue
        known = any(pair.sent for pair in score.pairs)
        for number, pairs in _words_of_field(message, score):
            if not known or any(pair.sent != pair.typed for pair in pairs):
                missed.add(number)
    return frozenset(missed)


def typed_for_words(message: Message, scores: Sequence[FieldScore]) -> dict[int, str]:
    """Return the text typed for each word that carries characters, by its number from 0.

    A field that is right counts as typed as it was sent; "" where nothing was typed.
    """
    typed: dict[int, str] = {}
    for score in scores:
        for number, pairs in _words_of_field(message, score):
            means = message.words[number].means
            typed[number] = means if score.right else "".join(pair.typed for pair in pairs)
    return typed


def _words_of_field(message: Message, score: FieldScore) -> Iterator[tuple[int, Sequence[Pair]]]:
    """Yield the number of each word of a field and the aligned pairs of its characters."""
    pairs = [pair for pair in score.pairs if pair.sent]
    numbers = [n for n, word in enumerate(message.words) if word.field == score.name]
    spoken = sum(len(message.words[n].means) for n in numbers)
    place = first = len(pairs) - spoken if 0 < spoken < len(pairs) else 0
    for number in numbers:
        length = len(message.words[number].means)
        yield number, pairs[place : place + length]
        place += length
        if place >= len(pairs):
            place = first
