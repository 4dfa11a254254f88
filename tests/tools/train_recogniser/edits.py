"""Edit distance, for scoring a recogniser's output."""

from collections.abc import Sequence


def edit_distance(one: Sequence[str], other: Sequence[str]) -> int:
    """Return the fewest insertions, deletions and substitutions between two sequences.

    Source: V. Levenshtein, 1966.
    """
    row = list(range(len(other) + 1))
    for place, symbol in enumerate(one, 1):
        before, row[0] = row[:], place
        for column, wanted in enumerate(other, 1):
            row[column] = min(
                before[column] + 1, row[column - 1] + 1, before[column - 1] + (symbol != wanted)
            )
    return row[-1]
