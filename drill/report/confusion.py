"""The confusion matrix: which character was typed for which character sent."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from drill.records.sessions import RawAttempt
from drill.scoring.answers import is_order_error
from drill.weakspots.statistics import alignment_is_reliable, usable_snr_db

GAP = ""
"""Takes the place of the typed character in a deletion and of the sent character in an
insertion."""


@dataclass(frozen=True, kw_only=True)
class ConfusionMatrix:
    """Counts of characters typed for characters sent.

    counts: by (sent, typed), correct characters included. GAP as typed is a deletion, GAP as sent
    an insertion; "?" as typed is a character that the trainee could not make out.
    sent: how often each character was sent.
    order_errors: number of fields in which two neighbouring characters were swapped. These are
    slips of memory, and their characters are not in the counts.
    """

    counts: dict[tuple[str, str], int]
    sent: dict[str, int]
    order_errors: int

    def most_frequent_errors(self, limit: int = 12) -> list[tuple[str, str, int, int]]:
        """Return the most frequent errors as (sent, typed, count, times sent).

        For an insertion, the last figure is the count itself.
        """
        errors = [(pair, n) for pair, n in self.counts.items() if pair[0] != pair[1]]
        errors.sort(key=lambda error: (-error[1], error[0]))
        return [(sent, typed, n, self.sent.get(sent, n)) for (sent, typed), n in errors[:limit]]


def count_confusions(answers: Iterable[RawAttempt]) -> ConfusionMatrix:
    """Return the confusion matrix of all usable answers (see `usable_snr_db`).

    Fields whose alignment is not reliable are left out.
    """
    counts: Counter[tuple[str, str]] = Counter()
    order_errors = 0
    for answer in answers:
        if usable_snr_db(answer) is None:
            continue
        for score in answer.scores:
            if not alignment_is_reliable(score):
                continue
            pairs = [(pair["sent"], pair["copied"]) for pair in score["pairs"]]
            if score["right"]:
                counts.update((sent, sent) for sent, _ in pairs)
            elif is_order_error(pairs):
                order_errors += 1
            else:
                counts.update(pairs)
    # A field that is right by value may have an insertion, such as a zero typed before a number.
    counts.pop((GAP, GAP), None)
    return ConfusionMatrix(counts=dict(counts), sent=_times_sent(counts), order_errors=order_errors)


def _times_sent(counts: Mapping[tuple[str, str], int]) -> dict[str, int]:
    """Return how often each character was sent."""
    sent: Counter[str] = Counter()
    for (character, _), n in counts.items():
        if character:
            sent[character] += n
    return dict(sent)
