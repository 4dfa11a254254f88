"""Takes as they are remembered: read from whatever keeps them, and what they tell over time."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from drill.sending.models import ADVICE, FAULT, Prompt, Review
from drill.sending.prompts import NEWEST


class Keeper(Protocol):
    """What keeps takes: the record, in practice."""

    def takes(self, newest: int = -1) -> list[tuple[str, dict[str, Any], dict[str, Any]]]:
        """Return when, prompt and review of the newest takes, newest first."""
        ...


@dataclass(frozen=True, kw_only=True, slots=True)
class Past:
    """One take of the past: when, in ISO 8601, and what it was."""

    at: str
    prompt: Prompt
    review: Review


def past(keeper: Keeper, newest: int = -1) -> Iterator[Past]:
    """Give the takes, newest first; one of a form that is not known any more is passed over."""
    for at, prompt, review in keeper.takes(newest):
        try:
            yield Past(at=at, prompt=Prompt.from_dict(prompt), review=Review.from_dict(review))
        except (KeyError, TypeError):
            continue


def remembered(keeper: Keeper) -> list[tuple[Prompt, Review]]:
    """Return the newest takes as drill.sending.prompts.choose wants them."""
    return [(one.prompt, one.review) for one in past(keeper, NEWEST)]


def held_against(keeper: Keeper, asked: Prompt, found: Review) -> Review | None:
    """Return the review of the last take of the same words, for a take that is not kept yet.

    None where there is none, or where nothing was made out in either: then there is no change.
    """
    if not found.came:
        return None
    said = [word.say for word in asked.words]
    same = (
        one.review
        for one in past(keeper, NEWEST)
        if [word.say for word in one.prompt.words] == said
    )
    return next((review for review in same if review.came), None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Tally:
    """What takes tell over time: how many, how many were right, and how often each finding came.

    days: (day, takes, right, pace in words a minute) in order. found: findings that are faults or
    advice by name, the commonest first.
    """

    takes: int
    right: int
    days: tuple[tuple[str, int, int, float], ...]
    found: tuple[tuple[str, int], ...]


def tally(takes: Sequence[Past]) -> Tally:
    """Return what takes, newest first, tell together."""
    days: dict[str, list[Review]] = {}
    names: Counter[str] = Counter()
    for one in reversed(takes):
        days.setdefault(one.at[:10], []).append(one.review)
        names.update({f.name for f in one.review.findings if f.weight in (FAULT, ADVICE)})
    return Tally(
        takes=len(takes),
        right=sum(one.review.right for one in takes),
        days=tuple(
            (day, len(reviews), sum(r.right for r in reviews), _mean_pace(reviews))
            for day, reviews in days.items()
        ),
        found=tuple(names.most_common()),
    )


def _mean_pace(reviews: Sequence[Review]) -> float:
    paces = [review.pace_wpm for review in reviews if review.pace_wpm]
    return round(sum(paces) / len(paces), 1) if paces else 0.0
