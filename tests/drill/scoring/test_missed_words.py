"""Which words of an over carry the characters that were missed."""

import pytest

from drill.scoring.answers import score_answer
from drill.scoring.missed_words import missed_words, typed_for_words
from phonetics.message import Field, Message, Word


def message(*words: tuple[str, str, str], call: str = "E87ABC", serial: str = "034") -> Message:
    return Message(
        part="over",
        exchange="serial",
        call=call,
        fields=(
            Field(name="call", kind="call", text=call),
            Field(name="serial", kind="serial", text=serial),
        ),
        words=tuple(Word(say=say, means=means, field=field) for say, means, field in words),
    )


CALL = [(word, character, "call") for word, character in
        [("echo", "E"), ("eight", "8"), ("seven", "7"), ("alfa", "A"), ("bravo", "B"),
         ("charlie", "C")]]  # fmt: skip
SERIAL = [("number", "", ""), ("zero", "0", "serial"), ("thirty-four", "34", "serial")]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("E87ABC 034", []),
        ("E87ABC 34", []),
        ("E87AVC 034", ["bravo"]),
        ("E8ABC 034", ["seven"]),
        ("E87ABC 035", ["thirty-four"]),
        ("E87ABC", ["zero", "thirty-four"]),
        ("", ["echo", "eight", "seven", "alfa", "bravo", "charlie", "zero", "thirty-four"]),
    ],
)
def test_the_words_of_missed_characters_are_found(typed: str, said: list[str]) -> None:
    sent = message(*CALL, *SERIAL)
    missed = missed_words(sent, score_answer(sent.fields, typed))
    assert [sent.words[number].say for number in sorted(missed)] == said


def test_a_call_that_is_said_twice_is_marked_twice() -> None:
    sent = message(*CALL, *CALL, *SERIAL)
    missed = missed_words(sent, score_answer(sent.fields, "E87AVC 034"))
    assert sorted(missed) == [4, 10]


def test_zeros_that_were_not_said_belong_to_no_word() -> None:
    sent = message(*CALL, ("thirty", "3", "serial"), ("four", "4", "serial"))
    missed = missed_words(sent, score_answer(sent.fields, "E87ABC 035"))
    assert [sent.words[number].say for number in missed] == ["four"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("E87ABC 34", ["E", "8", "7", "A", "B", "C", "0", "34"]),
        ("E87AVC 035", ["E", "8", "7", "A", "V", "C", "0", "35"]),
        ("E8ABC 034", ["E", "8", "", "A", "B", "C", "0", "34"]),
        ("E87A?C", ["E", "8", "7", "A", "?", "C", "", ""]),
    ],
)
def test_typed_text_is_found_for_each_word(typed: str, said: list[str]) -> None:
    """A right field counts as sent, so that a zero that may be left out is not missed."""
    sent = message(*CALL, *SERIAL)
    words = typed_for_words(sent, score_answer(sent.fields, typed))
    assert [words[number] for number in sorted(words)] == said
    assert sent.words[6].say == "number"
    assert 6 not in words
