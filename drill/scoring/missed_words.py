"""Finds the spoken words that carry the characters missed in an answer."""

from collections.abc import Sequence

from drill.core.models import FieldScore
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
        wrong = [pair.sent != pair.typed for pair in score.pairs if pair.sent]
        numbers = [n for n, word in enumerate(message.words) if word.field == score.name]
        spoken = sum(len(message.words[n].means) for n in numbers)
        place = first = len(wrong) - spoken if 0 < spoken < len(wrong) else 0
        for number in numbers:
            length = len(message.words[number].means)
            if any(wrong[place : place + length]) or not wrong:
                missed.add(number)
            place += length
            if place >= len(wrong):
                place = first
    return frozenset(missed)
