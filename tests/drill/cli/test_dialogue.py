"""The score of an answer as the terminal shows it."""

from dataclasses import replace

import pytest

from drill.cli.dialogue import score_lines
from drill.core.models import Answer, Attempt
from drill.items.plan import Plan, compose_item
from drill.scoring.answers import score_answer

ITEM = compose_item(
    Plan(seed=4, part="over", exchange="zone-itu", mix="unassigned", voices=("tin",)), 0
)
SENT = [field.text for field in ITEM.message.fields]


def attempt(typed: str, *, replays: int = 0, gave_up: bool = False) -> Attempt:
    return Attempt(
        answered_at="2026-03-01T09:00:00+00:00",
        item=ITEM,
        answer=Answer(typed=typed, seconds=1.0, replays=replays, gave_up=gave_up),
        scores=score_answer(ITEM.message.fields, typed, gave_up=gave_up),
        version="test",
    )


def test_a_right_answer_takes_one_line_for_each_field() -> None:
    lines = score_lines(attempt(" ".join(SENT)))
    assert lines[0] == "Logged right."
    assert [line.split()[0] for line in lines[1:]] == ["call", "report", "zone"]
    assert all("right: " in line for line in lines[1:])


def test_a_report_that_was_left_out_is_said_to_be_so() -> None:
    call, _, zone = SENT
    lines = score_lines(attempt(f"{call} {zone}"))
    assert lines[2].endswith("right: 59, left out")


@pytest.mark.parametrize(
    ("replays", "head"),
    [
        (0, "Not right."),
        (2, "Not right. Heard 3 times, so it is left out of the measured figures."),
    ],
)
def test_the_first_line_counts_replays(replays: int, head: str) -> None:
    assert score_lines(attempt("E8?", replays=replays))[0] == head


def test_an_answer_that_was_given_up_shows_what_was_sent() -> None:
    lines = score_lines(attempt("", gave_up=True))
    assert lines[0] == "Given up."
    assert " ".join(SENT[0]) in lines[1]


def test_a_common_slip_is_noted() -> None:
    wrong = replace(ITEM.message.fields[0], text="E80AB")
    scores = score_answer((wrong,), "E8OAB")
    lines = score_lines(replace(attempt(""), scores=scores))
    assert lines[-1] == f"        Note: {scores[0].hint}."
