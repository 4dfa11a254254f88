"""Answers held against what was sent."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.core.models import Answer, Pair
from drill.scoring.answers import LONGEST, align, characters, points, score
from phonetics.message import Field

CALL = Field(name="call", kind="call", text="E8ABC")
REPORT = Field(name="report", kind="report", text="59", optional_if="59")
ZONE = Field(name="zone", kind="zone-amateur", text="07")
SERIAL = Field(name="serial", kind="serial", text="014")
OVER = (CALL, REPORT, ZONE)


def shown(sent: str, copied: str) -> list[str]:
    return [(pair.sent or "-") + (pair.typed or "-") for pair in align(sent, copied)]


@pytest.mark.parametrize(
    ("sent", "copied", "columns"),
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
def test_alignment(sent: str, copied: str, columns: list[str]) -> None:
    assert shown(sent, copied) in (columns, [*columns[:2], "AA", "-A", *columns[4:]])


@given(sent=st.text("ABC123", max_size=8), copied=st.text("ABC123?", max_size=8))
def test_an_alignment_holds_both_texts_in_order(sent: str, copied: str) -> None:
    pairs = align(sent, copied)
    assert "".join(pair.sent for pair in pairs) == sent
    assert "".join(pair.typed for pair in pairs) == copied
    assert Pair(sent="", typed="") not in pairs


@pytest.mark.parametrize(
    "text",
    [
        "E8ABC 59 07", "e8abc 59 7", "E8ABC 5 9 0 7", "e8 a b c 597", "E8ABC5907", "E8ABC 07",
        "e8abc7", "E8ABC, 59, 07", "  E8ABC\t59   007 ", "E8ABC five nine seven",
    ],
)  # fmt: skip
def test_spaces_case_and_leading_zeros_do_not_matter(text: str) -> None:
    assert all(s.right for s in score(OVER, text)), score(OVER, text)


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
def test_each_field_is_judged_alone(text: str, rights: tuple[bool, ...]) -> None:
    assert tuple(s.right for s in score(OVER, text)) == rights


def test_a_report_that_is_not_optional_has_to_be_there() -> None:
    report = Field(name="report", kind="report", text="57", optional_if="59")
    assert [s.right for s in score((CALL, report), "E8ABC")] == [True, False]
    assert [s.right for s in score((CALL, report), "E8ABC 57")] == [True, True]
    assert [s.right for s in score((CALL, report), "E8ABC 59")] == [True, False]


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
def test_easy_slips_get_a_hint_and_stay_wrong(sent: str, typed: str, hint: str) -> None:
    (found,) = score((Field(name="call", kind="call", text=sent),), typed)
    assert not found.right
    assert found.hint == hint


def test_the_alignment_shows_what_was_typed() -> None:
    (found,) = score((CALL,), "e8avc")
    assert [pair.typed for pair in found.pairs] == list("E8AVC")
    assert found.sent == "E8ABC"


@settings(deadline=None)
@given(text=st.text(max_size=200) | st.text("E8ABC 59017?/", max_size=200))
def test_any_text_is_scored(text: str) -> None:
    scores = score((CALL, REPORT, ZONE, SERIAL), text)
    assert [s.name for s in scores] == ["call", "report", "zone", "serial"]
    right, sent = characters(scores)
    assert 0 <= right <= sent == 12
    assert 0 <= points(scores, Answer(typed=text, seconds=1.0)) <= 100


def test_only_so_much_of_a_line_is_read() -> None:
    (found,) = score((CALL,), "E8ABC" + "X" * 10_000)
    assert len(found.typed) <= LONGEST


def test_the_truth_itself_is_always_right() -> None:
    fields = (SERIAL, Field(name="letter", kind="letter", text="A"), CALL, ZONE)
    assert all(s.right for s in score(fields, "014 A E8ABC 07"))
    assert all(s.right for s in score(fields, "14AE8ABC7"))


def test_points_fall_by_a_fifth_with_each_replay() -> None:
    scores = score(OVER, "E8ABC 59 07")
    earned = [points(scores, Answer(typed="", seconds=0, replays=n)) for n in range(3)]
    assert earned == pytest.approx([100, 80, 64])
    assert points(score((CALL, ZONE), "E8ABC"), Answer(typed="", seconds=0)) == pytest.approx(50)
    assert points((), Answer(typed="", seconds=0)) == 0


def test_characters_of_a_right_field_count_whole() -> None:
    assert characters(score(OVER, "E8ABC 7")) == (9, 9)
    assert characters(score(OVER, "E8ABX 7")) == (8, 9)


def test_giving_up_gives_nothing() -> None:
    """A field that may be left out is not right where the whole item was."""
    report = Field(name="report", kind="report", text="59", optional_if="59")
    (left_out,) = score([report], "")
    assert left_out.right
    (given_up,) = score([report], "", gave_up=True)
    assert not given_up.right
    assert points([given_up], Answer(typed="", seconds=1.0, gave_up=True)) == 0
    assert characters([given_up]) == (0, 2)
