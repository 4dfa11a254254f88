"""The confusion matrix."""

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from drill.core.structuring import to_data
from drill.records.sessions import RawAttempt
from drill.report.confusion import GAP, ConfusionMatrix, count_confusions
from drill.scoring.answers import align_characters, score_answer
from drill.weakspots.statistics import alignment_is_reliable
from phonetics.message import Field
from tests.drill.weakspots.answers import recorded_answer

TEMPLATE = recorded_answer("{0}")
CALL_KIND = next(
    field["kind"] for field in TEMPLATE.item["message"]["fields"] if field["name"] == "call"
)


def answer(sent: str, typed: str, **entries: Any) -> RawAttempt:
    """Return a recorded answer to one call; entries replace those of the stored answer."""
    scores = score_answer([Field(name="call", kind=CALL_KIND, text=sent)], typed)
    return TEMPLATE._replace(
        scores=[to_data(score) for score in scores], answer={**TEMPLATE.answer, **entries}
    )


def errors(matrix: ConfusionMatrix) -> dict[tuple[str, str], int]:
    return {pair: n for pair, n in matrix.counts.items() if pair[0] != pair[1]}


def test_substitutions_deletions_and_insertions_are_counted() -> None:
    matrix = count_confusions(
        [
            answer("E8ABC", "E8ABC"),
            answer("E8ABC", "E8ABD"),
            answer("E8ABC", "E8AC"),
            answer("E8ABC", "E8AB?"),
            answer("E8ABC", "E8AXBC"),
        ]
    )
    assert errors(matrix) == {("C", "D"): 1, ("B", GAP): 1, ("C", "?"): 1, (GAP, "X"): 1}
    assert matrix.sent == dict.fromkeys("E8ABC", 5)
    assert matrix.counts["E", "E"] == 5
    assert matrix.order_errors == 0


def test_order_errors_are_counted_apart_from_confusions() -> None:
    """Two swapped neighbours are a slip of memory; their field is not in the counts."""
    matrix = count_confusions(
        [
            answer("E8ABC", "E8BAC"),
            answer("E8ABC", "8EABC"),
            answer("E8ABC", "E8CBA"),  # not neighbours
            answer("E8ABC", "E8BCC"),  # not a swap
            answer("E8ABC", "E8ABC"),
        ]
    )
    assert matrix.order_errors == 2
    assert matrix.sent == dict.fromkeys("E8ABC", 3)
    assert errors(matrix) == {("A", "C"): 1, ("C", "A"): 1, ("A", "B"): 1, ("B", "C"): 1}


def test_order_errors_do_not_depend_on_the_stored_hint() -> None:
    """The hint is a sentence for the trainee, and its wording may change."""
    swapped = answer("E8ABC", "E8BAC")
    other_hint = swapped._replace(scores=[{**swapped.scores[0], "hint": "other words"}])
    assert count_confusions([swapped, other_hint]).order_errors == 2


def test_a_letter_and_a_digit_of_the_same_shape_are_a_confusion_and_no_order_error() -> None:
    matrix = count_confusions([answer("E8O0A", "E80OA")])
    assert matrix.order_errors == 0
    assert errors(matrix) == {("0", "O"): 1, ("O", "0"): 1}


def hint_of_version_0_2_0(sent: str, typed: str) -> str:
    """Return the hint that version 0.2.0 stored for a wrong call, in its words."""
    for pair in align_characters(sent, typed):
        if (pair.sent, pair.typed) in {("0", "O"), ("O", "0"), ("1", "I"), ("I", "1")}:
            return "the digit 0 was sent, the letter O was typed"
    differ = [i for i, (a, b) in enumerate(zip(sent, typed, strict=False)) if a != b]
    if len(sent) == len(typed) and len(differ) == 2 and differ[1] == differ[0] + 1:
        i = differ[0]
        if sent[i : i + 2] == typed[i + 1] + typed[i]:
            return f"{sent[i]} and {sent[i + 1]} are the wrong way round"
    return ""


@st.composite
def calls_and_answers(draw: st.DrawFn) -> tuple[str, str]:
    """Draw a call and an answer, often the call with two neighbours swapped."""
    sent = draw(st.text("ABC08O", min_size=2, max_size=7))
    if draw(st.booleans()):
        return sent, draw(st.text("ABC08O", min_size=1, max_size=7))
    i = draw(st.integers(0, len(sent) - 2))
    return sent, sent[:i] + sent[i + 1] + sent[i] + sent[i + 2 :]


@given(calls_and_answers())
def test_order_errors_are_those_that_version_0_2_0_found_in_the_hint(
    call_and_answer: tuple[str, str],
) -> None:
    sent, typed = call_and_answer
    recorded = answer(sent, typed)
    named_in_hint = sent != typed and "wrong way round" in hint_of_version_0_2_0(sent, typed)
    # Version 0.2.0 read the hint only if the alignment was reliable.
    expected = named_in_hint and alignment_is_reliable(recorded.scores[0])
    assert count_confusions([recorded]).order_errors == expected


def test_unusable_answers_and_unreliable_alignments_are_left_out() -> None:
    matrix = count_confusions(
        [
            answer("E8ABC", "E8BAC", gave_up=True),
            answer("E8ABC", "E8ABD", replays=1),
            answer("E8ABC", "E8ABD")._replace(snr_db=None),
            answer("E8ABC", "C"),
        ]
    )
    assert matrix == ConfusionMatrix(counts={}, sent={}, order_errors=0)


def test_the_most_frequent_errors_come_first_with_how_often_the_character_was_sent() -> None:
    matrix = ConfusionMatrix(
        counts={("A", "A"): 7, ("A", "B"): 1, ("C", ""): 3, ("", "D"): 2, ("B", "B"): 9},
        sent={"A": 8, "C": 3, "B": 9},
        order_errors=0,
    )
    assert matrix.most_frequent_errors() == [
        ("C", "", 3, 3),
        ("", "D", 2, 2),
        ("A", "B", 1, 8),
    ]
    assert matrix.most_frequent_errors(limit=1) == [("C", "", 3, 3)]
