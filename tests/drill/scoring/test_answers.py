"""Typed answers are scored against what was sent."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.models import Answer, Pair
from drill.scoring.answers import (
    MAX_ANSWER_LENGTH,
    align_characters,
    answer_points,
    count_characters,
    is_order_error,
    score_answer,
)
from phonetics.message import Field

CALL = Field(name="call", kind="call", text="E8ABC")
REPORT = Field(name="report", kind="report", text="59", optional_if="59")
ZONE = Field(name="zone", kind="zone-amateur", text="07")
SERIAL = Field(name="serial", kind="serial", text="014")
OVER = (CALL, REPORT, ZONE)


def columns_of(sent: str, typed: str) -> list[str]:
    return [(pair.sent or "-") + (pair.typed or "-") for pair in align_characters(sent, typed)]


@pytest.mark.parametrize(
    ("sent", "typed", "columns"),
    [
        ("E8ABC", "E8ABC", ["EE", "88", "AA", "BB", "CC"]),
        ("E8ABC", "E8AVC", ["EE", "88", "AA", "BV", "CC"]),
        ("E8ABC", "E8AC", ["EE", "88", "AA", "B-", "CC"]),
        ("E8ABC", "E8AABC", ["EE", "88", "-A", "AA", "BB", "CC"]),
        ("H5O", "H50", ["HH", "55", "O0"]),
        ("E8ABC", "E8A?C", ["EE", "88", "AA", "B?", "CC"]),
        ("E8", "", ["E-", "8-"]),
        ("", "E8", ["-E", "-8"]),
    ],
)
def test_alignment(sent: str, typed: str, columns: list[str]) -> None:
    assert columns_of(sent, typed) in (columns, [*columns[:2], "AA", "-A", *columns[4:]])


@given(sent=st.text("ABC123", max_size=8), typed=st.text("ABC123?", max_size=8))
def test_an_alignment_contains_both_texts_in_order(sent: str, typed: str) -> None:
    pairs = align_characters(sent, typed)
    assert "".join(pair.sent for pair in pairs) == sent
    assert "".join(pair.typed for pair in pairs) == typed
    assert Pair(sent="", typed="") not in pairs


@pytest.mark.parametrize(
    "text",
    [
        "E8ABC 59 07", "e8abc 59 7", "E8ABC 5 9 0 7", "e8 a b c 597", "E8ABC5907", "E8ABC 07",
        "e8abc7", "E8ABC, 59, 07", "  E8ABC\t59   007 ", "E8ABC five nine seven",
    ],
)  # fmt: skip
def test_spaces_case_and_leading_zeros_do_not_matter(text: str) -> None:
    assert all(s.right for s in score_answer(OVER, text)), score_answer(OVER, text)


@pytest.mark.parametrize(
    ("text", "rights"),
    [
        ("E8ABD 59 07", (False, True, True)),
        ("E8ABC 59 08", (True, True, False)),
        ("E8ABC 58 07", (True, False, True)),
        ("E8ABC 59", (True, True, False)),
        ("59 07", (False, True, True)),
        ("E8ABC", (True, True, False)),
        ("", (False, True, False)),
        ("E8ABC 59 O7", (True, True, False)),
    ],
)
def test_each_field_is_scored_on_its_own(text: str, rights: tuple[bool, ...]) -> None:
    assert tuple(s.right for s in score_answer(OVER, text)) == rights


def test_a_required_report_must_be_typed() -> None:
    report = Field(name="report", kind="report", text="57", optional_if="59")
    assert [s.right for s in score_answer((CALL, report), "E8ABC")] == [True, False]
    assert [s.right for s in score_answer((CALL, report), "E8ABC 57")] == [True, True]
    assert [s.right for s in score_answer((CALL, report), "E8ABC 59")] == [True, False]


@pytest.mark.parametrize(
    ("sent", "typed", "hint"),
    [
        ("H5OA", "H50A", "the letter O was sent, the digit 0 was typed"),
        ("H50A", "H5OA", "the digit 0 was sent, the letter O was typed"),
        ("H1A", "HIA", "the digit 1 was sent, the letter I was typed"),
        ("E8ABC", "E8BAC", "A and B are the wrong way round"),
        ("E8ABC", "E8AXC", ""),
    ],
)
def test_common_errors_get_a_hint_and_stay_wrong(sent: str, typed: str, hint: str) -> None:
    (field_score,) = score_answer((Field(name="call", kind="call", text=sent),), typed)
    assert not field_score.right
    assert field_score.hint == hint


def test_the_alignment_shows_what_was_typed() -> None:
    (field_score,) = score_answer((CALL,), "e8avc")
    assert [pair.typed for pair in field_score.pairs] == list("E8AVC")
    assert field_score.sent == "E8ABC"


@given(text=st.text(max_size=200) | st.text("E8ABC 59017?/", max_size=200))
def test_any_text_is_scored(text: str) -> None:
    scores = score_answer((CALL, REPORT, ZONE, SERIAL), text)
    assert [s.name for s in scores] == ["call", "report", "zone", "serial"]
    right, sent = count_characters(scores)
    assert 0 <= right <= sent == 12
    assert 0 <= answer_points(scores, Answer(typed=text, seconds=1.0)) <= 100


def test_a_very_long_line_is_shortened() -> None:
    (field_score,) = score_answer((CALL,), "E8ABC" + "X" * 10_000)
    assert len(field_score.typed) <= MAX_ANSWER_LENGTH


def test_the_sent_text_is_always_right() -> None:
    fields = (SERIAL, Field(name="letter", kind="letter", text="A"), CALL, ZONE)
    assert all(s.right for s in score_answer(fields, "014 A E8ABC 07"))
    assert all(s.right for s in score_answer(fields, "14AE8ABC7"))


def test_points_fall_by_a_fifth_with_each_replay() -> None:
    scores = score_answer(OVER, "E8ABC 59 07")
    earned = [answer_points(scores, Answer(typed="", seconds=0, replays=n)) for n in range(3)]
    assert earned == pytest.approx([100, 80, 64])
    assert answer_points(
        score_answer((CALL, ZONE), "E8ABC"), Answer(typed="", seconds=0)
    ) == pytest.approx(50)
    assert answer_points((), Answer(typed="", seconds=0)) == 0


def test_all_characters_of_a_right_field_count() -> None:
    assert count_characters(score_answer(OVER, "E8ABC 7")) == (9, 9)
    assert count_characters(score_answer(OVER, "E8ABX 7")) == (8, 9)


def test_giving_up_gives_nothing() -> None:
    """Even a field that may be left out is wrong if the trainee gave up on the item."""
    report = Field(name="report", kind="report", text="59", optional_if="59")
    (left_out,) = score_answer([report], "")
    assert left_out.right
    (given_up,) = score_answer([report], "", gave_up=True)
    assert not given_up.right
    assert answer_points([given_up], Answer(typed="", seconds=1.0, gave_up=True)) == 0
    assert count_characters([given_up]) == (0, 2)


@pytest.mark.parametrize("typed", [("E8ABCB", "JO22"), ("E8ACBB", "O22"), ("EABJ", "AO22")])
def test_the_typed_spaces_decide_between_equally_good_cuts(typed: tuple[str, str]) -> None:
    locator = Field(name="locator", kind="locator", text="JO22")
    scores = score_answer((CALL, locator), " ".join(typed))
    assert tuple(score.typed for score in scores) == typed


@pytest.mark.parametrize(
    ("sent", "typed", "expected"),
    [
        ("E8ABC", "E8BAC", True),
        ("E8ABC", "8EABC", True),
        ("E8ABC", "E8ABC", False),
        ("E8ABC", "E8CBA", False),
        ("E8ABC", "E8BA", False),
        ("E8ABC", "8EBAC", False),
        ("H5O0A", "H50OA", False),
    ],
)
def test_an_order_error_is_one_swap_of_neighbours(sent: str, typed: str, expected: bool) -> None:
    pairs = [(pair.sent, pair.typed) for pair in align_characters(sent, typed)]
    assert is_order_error(pairs) is expected
