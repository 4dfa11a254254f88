"""Typed answers are scored against what was sent."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.models import Answer, Pair
from drill.scoring.answers import (
    LEFT_OUT_HINT,
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
        ("X4O", "X40", ["XX", "44", "O0"]),
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
        "E8ABC 59 zone 7", "E8ABC 59/07", "E8ABC 7.", "E8ABC; 59; zone: 07",
        "".join(chr(ord(c) + 0xFEE0) for c in "E8ABC5907"), "e8abc report 59 zone07",
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
        ("E8ABD 07", (False, True, True)),
        ("", (False, False, False)),
        ("Q", (False, False, False)),
        ("E8ABD 08", (False, False, False)),
        ("E8ABC 58 08", (True, False, False)),
        ("E8ABC 08", (True, True, False)),
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
        ("X4OA", "X40A", "the letter O was sent, the digit 0 was typed"),
        ("X40A", "X4OA", "the digit 0 was sent, the letter O was typed"),
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
    assert score_answer((CALL, REPORT), "E8ABC")[1].right
    given_up = score_answer((CALL, REPORT), "E8ABC", gave_up=True)
    assert not any(score.right for score in given_up)
    given_up = score_answer((CALL, REPORT), "", gave_up=True)
    assert not any(score.right for score in given_up)
    assert answer_points(given_up, Answer(typed="", seconds=1.0, gave_up=True)) == 0
    assert count_characters(given_up) == (0, 7)


@pytest.mark.parametrize("text", ["", "Q", "?", "E", "QQQ QQ", "zone", "/", "."])
def test_a_line_that_copies_nothing_earns_nothing(text: str) -> None:
    """A report that was left out earns neither points nor characters by itself."""
    scores = score_answer(OVER, text)
    assert not any(score.right for score in scores)
    assert answer_points(scores, Answer(typed=text, seconds=1.0)) == 0
    assert count_characters(scores)[0] <= 1  # "E" is a character of the call


def test_a_report_left_out_without_any_other_field_is_explained() -> None:
    assert score_answer(OVER, "Q")[1].hint == LEFT_OUT_HINT
    assert score_answer(OVER, "")[1].hint == ""


@pytest.mark.parametrize(
    ("kind", "sent", "typed"),
    [
        ("serial", "014", "59/14"),
        ("serial", "014", "59/nr014"),
        ("serial", "014", "59 nr 014"),
        ("serial", "014", "59, no. 014"),
        ("serial", "014", "59 n0014"),
        ("serial", "014", "59#14"),
        ("serial", "014", "59 14."),
        ("zone-itu", "14", "59 zone 14"),
        ("zone-itu", "14", "59 zone14"),
        ("power", "100", "59 100 watt"),
        ("power", "100", "59/100w"),
        ("power", "1500", "59 1.5kw"),
        ("power", "1000", "59 1 kilo"),
        ("power", "1000", "59 kilo"),
        ("area", "STO", "59/sto"),
        ("area", "STO", "5 9 / sto"),
        ("area", "STO", "59 area STO"),
    ],
)
def test_fields_can_be_typed_as_operators_write_them(kind: str, sent: str, typed: str) -> None:
    fields = (REPORT, Field(name="field", kind=kind, text=sent))
    assert all(score.right for score in score_answer(fields, typed))


@pytest.mark.parametrize(
    "typed", ["E8ABC/P 14", "E8ABC-P 14", "e8abc portable 14", "E8ABC / P 14", "E8ABC stroke P 14"]
)
def test_a_portable_call_can_be_typed_in_several_ways(typed: str) -> None:
    fields = (Field(name="call", kind="call", text="E8ABC/P"), SERIAL)
    assert all(score.right for score in score_answer(fields, typed))
    assert not score_answer((CALL, SERIAL), typed)[0].right


def test_a_stroke_within_a_call_separates_no_fields() -> None:
    assert [score.right for score in score_answer((CALL, ZONE), "E8ABC/7")] == [False, False]
    call = Field(name="call", kind="call", text="X23/E8ABC")
    assert all(score.right for score in score_answer((SERIAL, call), "014/X23/E8ABC"))


@pytest.mark.parametrize(
    ("field", "typed", "hint"),
    [
        (REPORT, "5NN", "5NN is a Morse cut number; type two digits, such as 59"),
        (SERIAL, "TT1", "TT1 is a Morse cut number; type a number in digits"),
        (REPORT, "599", "599 is not valid here; type two digits, such as 59"),
        (ZONE, "zone 41", "ZONE41 is not valid here; type a zone from 1 to 40"),
        (ZONE, "8", ""),
        (ZONE, "?7", ""),
    ],
)
def test_an_entry_that_is_not_accepted_is_explained(field: Field, typed: str, hint: str) -> None:
    (field_score,) = score_answer((field,), typed)
    assert (field_score.right, field_score.hint) == (False, hint)


@pytest.mark.parametrize("typed", ["E8ABC 59 T14", "E8ABC 5NN T14", "E8ABC T14", "E8ABC 59 O14"])
def test_a_number_is_not_cut_out_of_a_word(typed: str) -> None:
    scores = score_answer((CALL, REPORT, SERIAL), typed)
    assert scores[0].right
    assert not scores[2].right


def test_a_missing_report_costs_no_other_field_without_spaces() -> None:
    report = Field(name="report", kind="report", text="57", optional_if="59")
    assert [s.right for s in score_answer((CALL, report, SERIAL), "E8ABC14")] == [True, False, True]


def test_the_label_of_a_wrong_field_is_not_an_error_in_its_characters() -> None:
    scores = score_answer((REPORT, ZONE), "58 zone 08")
    assert [score.typed for score in scores] == ["58", "ZONE 08"]
    assert [(pair.sent, pair.typed) for pair in scores[1].pairs] == [("0", "0"), ("7", "8")]


@pytest.mark.parametrize("typed", [("E8ABCB", "JO22"), ("E8ACBB", "O22"), ("EABJ", "AO22")])
def test_the_typed_spaces_decide_between_equally_good_splits(typed: tuple[str, str]) -> None:
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
        ("X4O0A", "X40OA", False),
    ],
)
def test_an_order_error_is_one_swap_of_neighbours(sent: str, typed: str, expected: bool) -> None:
    pairs = [(pair.sent, pair.typed) for pair in align_characters(sent, typed)]
    assert is_order_error(pairs) is expected
