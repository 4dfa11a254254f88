"""Reads reviewed takes from the record and summarises them over time."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple, Protocol

from drill.core.errors import UserError
from drill.core.structuring import from_data
from drill.core.validation import checked_list, checked_table
from drill.sending.models import ADVICE, FAULT, Prompt, Review
from drill.sending.prompts import RECENT_TAKES

SENTENCE_KEYS = frozenset({"says", "remedy"})
"""Keys of version 0.2.0, which also stored the sentences of prompts and findings."""


class TakeStore(Protocol):
    """A store of reviewed takes, such as the record."""

    def takes(self, newest: int = -1) -> list[tuple[str, dict[str, Any], dict[str, Any]]]:
        """Return time (ISO 8601), prompt and review of the newest takes, newest first; -1: all."""
        ...


@dataclass(frozen=True, kw_only=True, slots=True)
class PastTake:
    """A reviewed take. taken_at: ISO 8601 with offset."""

    taken_at: str
    prompt: Prompt
    review: Review


def past_takes(store: TakeStore, newest: int = -1) -> Iterator[PastTake]:
    """Yield at most `newest` takes, newest first (-1: all), without those that cannot be read."""
    for taken_at, prompt, review in store.takes(newest):
        try:
            yield PastTake(
                taken_at=taken_at, prompt=stored_prompt(prompt), review=stored_review(review)
            )
        except UserError:
            continue


def stored_prompt(data: Mapping[str, Any]) -> Prompt:
    """Return a prompt from the record. Raises: UserError if the data are not those of a prompt."""
    return from_data(Prompt, _without_sentences(data))


def stored_review(data: Mapping[str, Any]) -> Review:
    """Return a review from the record. Raises: UserError if the data are not those of a review."""
    findings = checked_list(
        "findings", data.get("findings", ()), lambda _, finding: _without_sentences(finding)
    )
    return from_data(Review, {**data, "findings": findings})


def _without_sentences(data: Any) -> dict[str, Any]:
    return {
        key: value for key, value in checked_table("", data).items() if key not in SENTENCE_KEYS
    }


def recent_reviews(store: TakeStore) -> list[tuple[Prompt, Review]]:
    """Return prompts and reviews of the newest takes, for drill.sending.prompts.choose_prompt."""
    return [(take.prompt, take.review) for take in past_takes(store, RECENT_TAKES)]


def previous_review(store: TakeStore, prompt: Prompt, review: Review) -> Review | None:
    """Return the review of the last take of the same words, for comparison with a new one.

    None if there is none, or if no expected word was recognised in one of the two takes.
    """
    if not review.delivered_share:
        return None
    words = [word.say for word in prompt.words]
    same_words = (
        take.review
        for take in past_takes(store, RECENT_TAKES)
        if [word.say for word in take.prompt.words] == words
    )
    return next((earlier for earlier in same_words if earlier.delivered_share), None)


class SendingDay(NamedTuple):
    """Takes of one day: ISO date, number of takes and of right ones, mean words per minute."""

    day: str
    takes: int
    right: int
    pace_wpm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class SendingSummary:
    """A summary of takes over time.

    takes, right: number of takes, and of those that were right. days: in chronological order.
    finding_counts: each kind of fault or advice with the number of takes that have it, most
    frequent first.
    """

    STORED_NAMES: ClassVar[Mapping[str, str]] = {"finding_counts": "found"}

    takes: int
    right: int
    days: tuple[SendingDay, ...]
    finding_counts: tuple[tuple[str, int], ...]


def summarise_takes(takes: Sequence[PastTake]) -> SendingSummary:
    """Return the summary of takes. takes: newest first."""
    reviews_of_day: defaultdict[str, list[Review]] = defaultdict(list)
    counts: Counter[str] = Counter()
    for take in reversed(takes):
        reviews_of_day[take.taken_at[:10]].append(take.review)
        # The set makes each kind count once per take.
        counts.update({f.kind for f in take.review.findings if f.severity in (FAULT, ADVICE)})
    return SendingSummary(
        takes=len(takes),
        right=sum(take.review.right for take in takes),
        days=tuple(
            SendingDay(
                day=day,
                takes=len(reviews),
                right=sum(review.right for review in reviews),
                pace_wpm=_mean_pace_wpm(reviews),
            )
            for day, reviews in reviews_of_day.items()
        ),
        finding_counts=tuple(counts.most_common()),
    )


def _mean_pace_wpm(reviews: Sequence[Review]) -> float:
    paces = [review.pace_wpm for review in reviews if review.pace_wpm]
    return round(sum(paces) / len(paces), 1) if paces else 0.0
