"""Attribution of errors by our alignment and by plain edit distance.

Answers are simulated from known errors. Reference library: rapidfuzz, Levenshtein.editops, where
all edits cost 1. The score is the share of errors counted in a wrong cell of the confusion matrix;
a swap such as E81FS for E81SF counts as two errors.
"""

import random
from collections import Counter

from rapidfuzz.distance import Levenshtein

from drill.scoring.answers import align_characters

SYMBOLS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
SUBSTITUTION_RATE, DELETION_RATE, INSERTION_RATE = 0.10, 0.03, 0.005
NEIGHBOUR_OFFSETS = (1, 1, 2, -1)
"""A substituted character becomes one of its neighbours in SYMBOLS."""

ErrorCounts = Counter[tuple[str, str]]


def simulate_answer(sent: str, rng: random.Random) -> tuple[str, ErrorCounts]:
    """Return a typed answer and its errors as counts of (sent, typed); "" is a gap."""
    typed, errors = "", ErrorCounts()
    for character in sent:
        draw = rng.random()
        if draw < SUBSTITUTION_RATE:
            index = SYMBOLS.index(character) + rng.choice(NEIGHBOUR_OFFSETS)
            substitute = SYMBOLS[index % len(SYMBOLS)]
            typed += substitute
            errors[character, substitute] += 1
        elif draw < SUBSTITUTION_RATE + DELETION_RATE:
            errors[character, ""] += 1
        else:
            typed += character
        if rng.random() < INSERTION_RATE:
            inserted = rng.choice(SYMBOLS)
            typed += inserted
            errors["", inserted] += 1
    return typed, errors


def edit_distance_errors(sent: str, typed: str) -> ErrorCounts:
    errors = ErrorCounts()
    for edit in Levenshtein.editops(sent, typed):
        a = sent[edit.src_pos] if edit.tag != "insert" else ""
        b = typed[edit.dest_pos] if edit.tag != "delete" else ""
        errors[a, b] += 1
    return errors


def aligned_errors(sent: str, typed: str) -> ErrorCounts:
    pairs = align_characters(sent, typed)
    return ErrorCounts((pair.sent, pair.typed) for pair in pairs if pair.sent != pair.typed)


def test_our_alignment_attributes_more_errors_correctly_than_plain_edit_distance() -> None:
    rng = random.Random(5)
    true, aligned, edited = ErrorCounts(), ErrorCounts(), ErrorCounts()
    for _ in range(4000):
        sent = "".join(rng.choice(SYMBOLS) for _ in range(6))
        typed, errors = simulate_answer(sent, rng)
        true += errors
        aligned += aligned_errors(sent, typed)
        edited += edit_distance_errors(sent, typed)

    def misattributed(counts: ErrorCounts) -> float:
        cells = set(true) | set(counts)
        return sum(abs(true[cell] - counts[cell]) for cell in cells) / sum(true.values())

    assert misattributed(aligned) < 0.08
    assert misattributed(aligned) < misattributed(edited)
