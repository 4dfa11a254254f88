"""Recognised words compared with a prompt: the result of each, and which results are sure."""

import pytest

from drill.sending.models import Prompt, Take
from drill.sending.recognition import recognise_take
from tests.drill.sending.takes import (
    CALL_WITH_WRONG_B,
    CALL_WORDS,
    FakeRecogniser,
    call_prompt,
    noise_clip,
)


def deviations(*passes: str, prompt: Prompt | None = None) -> list[tuple[str, str, bool]]:
    """Return result, word (the expected one if it is missing) and sureness of words not right."""
    take = Take(prompt=prompt or call_prompt(), clip=noise_clip())
    _, words = recognise_take(take, FakeRecogniser(*passes))
    return [
        (word.result, word.spoken or word.expected, word.sure)
        for word in words
        if word.result != "right"
    ]


@pytest.mark.parametrize(
    ("recognised", "results"),
    [
        (CALL_WORDS, []),
        (f"this is {CALL_WORDS} over", ["procedure"] * 3),
        (CALL_WITH_WRONG_B, ["wrong"]),
        ("echo eight seven alfa charlie", ["missing"]),
        ("echo eight seven alfa bravo kilo charlie", ["extra"]),
        ("echo eight seven bravo alfa charlie", ["order", "order"]),
        ("echo uh eight seven alfa um bravo charlie", ["filler", "filler"]),
        ("echo eight seven america boston charlie", ["form", "form"]),
        ("echo eight seven alfa alfa bravo charlie", ["again"]),
        ("echo eight seven alfa delta correction alfa bravo charlie",
         ["corrected", "procedure", "again"]),
        (f"{CALL_WORDS} {CALL_WORDS}", ["again"] * 6),
    ],
)  # fmt: skip
def test_each_deviation_gets_its_result(recognised: str, results: list[str]) -> None:
    """Expected results written by hand."""
    assert [result for result, _, _ in deviations(recognised)] == results


def test_an_error_of_one_pass_alone_is_not_sure() -> None:
    assert deviations(CALL_WITH_WRONG_B, CALL_WORDS) == [("wrong", "delta", False)]
    assert deviations(CALL_WITH_WRONG_B, CALL_WITH_WRONG_B) == [("wrong", "delta", True)]


def test_the_second_pass_decides_which_word_was_spoken() -> None:
    second = "echo eight seven alfa denmark charlie"
    assert deviations(CALL_WITH_WRONG_B, second) == [("wrong", "denmark", True)]


def test_one_missing_word_of_two_equal_ones_is_not_sure() -> None:
    prompt = call_prompt("E88ABC")
    result = deviations("echo eight alfa bravo charlie", prompt=prompt)
    assert result == [("missing", "eight", False)]
