"""Doubt whether the recogniser understands a voice, judged from several takes."""

from dataclasses import replace
from typing import Any

import pytest

from drill.core.structuring import to_data
from drill.recogniser.own.voice_check import VoiceCheck
from drill.sending.models import Prompt, Review
from drill.sending.voice_doubt import CHECKED_TAKES, check_recent_takes, describe_voice_doubt
from tests.drill.sending.takes import CALL_WITH_WRONG_B, CALL_WORDS, call_prompt, review_words


class Takes:
    """Stands in for the record: has given reviews, newest first."""

    def __init__(self, *reviews: Review) -> None:
        self._reviews = reviews

    def takes(self, newest: int = -1) -> list[tuple[str, dict[str, Any], dict[str, Any]]]:
        prompt: Prompt = call_prompt()
        return [
            ("2026-01-01T00:00:00+00:00", to_data(prompt), to_data(review))
            for review in self._reviews
        ][: None if newest < 0 else newest]


RIGHT, WRONG = review_words(CALL_WORDS), review_words(CALL_WITH_WRONG_B)


def test_words_of_the_newest_takes_are_counted() -> None:
    store = Takes(WRONG, RIGHT, *[WRONG] * 10)
    check = check_recent_takes(store, WRONG)
    assert check == VoiceCheck(words=6 * CHECKED_TAKES, right=6 * CHECKED_TAKES - 3)


def test_takes_with_another_recogniser_do_not_count() -> None:
    other = replace(WRONG, recogniser="another 1")
    assert check_recent_takes(Takes(RIGHT, other), RIGHT) == VoiceCheck(words=6, right=6)


@pytest.mark.parametrize(
    ("words", "right", "doubted"), [(24, 24, False), (24, 22, False), (24, 18, True), (6, 1, False)]
)
def test_only_many_missed_words_of_several_takes_raise_doubt(
    words: int, right: int, doubted: bool
) -> None:
    sentence = describe_voice_doubt(VoiceCheck(words=words, right=right))
    assert bool(sentence) == doubted
    assert not doubted or f"only {right} of {words} words" in sentence
