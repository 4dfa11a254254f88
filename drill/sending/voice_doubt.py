"""Whether the recogniser understands the trainee at all, judged by the newest takes in the record.

A single take cannot show whether a word was said wrongly or misunderstood. Over several takes,
trainees say most words correctly; a recogniser that misses many of them does not copy the voice.
"""

from itertools import islice

from drill.recogniser.own.voice_check import VoiceCheck
from drill.sending.history import TakeStore, past_takes
from drill.sending.models import DELIVERED_RESULTS, Review
from drill.sending.prompts import RECENT_TAKES

CHECKED_TAKES = 4
"""Newest takes, all with the same recogniser, that are counted together."""


def check_recent_takes(store: TakeStore, review: Review) -> VoiceCheck:
    """Return how many of the words of the newest takes were recognised; see CHECKED_TAKES.

    review: of the newest take, which is in the store. Takes with another recogniser do not count.
    """
    same = (
        take.review
        for take in past_takes(store, RECENT_TAKES)
        if take.review.recogniser == review.recogniser
    )
    expected = [
        word for past in islice(same, CHECKED_TAKES) for word in past.words if word.expected
    ]
    right = sum(word.result in DELIVERED_RESULTS for word in expected)
    return VoiceCheck(words=len(expected), right=right)


def describe_voice_doubt(check: VoiceCheck) -> str:
    """Return why the findings about words cannot be trusted, "" if there is no reason for doubt."""
    if not check.is_conclusive or check.can_be_judged:
        return ""
    return (
        f"In your newest takes the recogniser copied only {check.right} of {check.words} words. If "
        "you said them correctly, it does not copy your voice, and its findings about words mean "
        "nothing. In that case let it learn your voice: faintcall enrol."
    )
