"""The gate tells intelligible voices from others, and its table lists the roster."""

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest

from drill.core.models import Clip, Operator
from drill.voices import find_engine
from drill.voices.operators import find_operator
from drill.voices.people.roster import ROSTER
from phonetics.message import Word
from tests.tools.voice_gate import (
    REQUIRED_ACCURACY,
    TABLE_HEADER,
    GateVerdict,
    call_words,
    compose_gate_calls,
    count_word_errors,
    judge_operator,
    table_row,
)

MEASURED = Path(__file__).parents[1] / "measured" / "voice_gate.md"


def table_lines() -> list[str]:
    text = MEASURED.read_text("utf-8")
    return text.split("<!-- gate -->\n")[1].split("<!-- /gate -->")[0].splitlines()


def measured_accuracy(operator: Operator) -> float:
    """Return the share of correct words that the table gives an operator."""
    row = next(line for line in table_lines() if line.startswith(f"| {operator.name} |"))
    match = re.search(r"([\d.]+) %( \(hard\))? \|$", row)
    assert match
    return float(match[1]) / 100


def test_the_table_lists_the_whole_roster_and_nobody_fails() -> None:
    lines = table_lines()
    assert tuple(lines[:2]) == TABLE_HEADER
    assert len(lines) == 2 + len(ROSTER)
    for line, operator in zip(lines[2:], ROSTER, strict=True):
        row = table_row(GateVerdict(operator=operator, words=120, wrong=0, pitch_hz=0))
        assert line.split(" | ")[:5] == row.split(" | ")[:5], "remake the table"
        accuracy = measured_accuracy(operator)
        assert accuracy >= REQUIRED_ACCURACY[operator.engine] or operator.hard, line
        assert ("(hard)" in line) <= operator.hard


def speak_backwards(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    clip = find_engine(operator.engine).synthesise(words, operator, seed)
    return replace(clip, samples=clip.samples[::-1])


def speak_other_call(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    other_words = call_words(compose_gate_calls(1, Random(seed + 99))[0])
    return find_engine(operator.engine).synthesise(other_words, operator, seed)


def speak_noise(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    noise = 0.2 * np.random.default_rng(seed).standard_normal(48_000)
    return Clip(samples=noise.astype(np.float32), rate_hz=16_000)


def test_a_voice_played_backwards_fails() -> None:
    verdict = judge_operator(find_operator("meadow"), speak_backwards, calls=5)
    assert not verdict.passed
    assert verdict.accuracy < 0.5


@pytest.mark.parametrize("name", ["meadow", "tin"])
def test_a_voice_with_formants_at_half_their_frequency_fails(name: str) -> None:
    giant = replace(find_operator(name), formant_scale=0.5)
    assert not judge_operator(giant, find_engine(giant.engine).synthesise, calls=5).passed


def test_a_voice_that_says_other_words_fails() -> None:
    assert not judge_operator(find_operator("meadow"), speak_other_call, calls=5).passed


def test_noise_is_not_understood() -> None:
    assert judge_operator(find_operator("meadow"), speak_noise, calls=3).accuracy < 0.5


def test_twenty_calls_have_every_letter_and_digit_twice() -> None:
    characters = "".join(compose_gate_calls(20, Random(5)))
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
    assert all(characters.count(character) >= 2 for character in alphabet)


@pytest.mark.parametrize(
    ("spoken", "recognised", "errors"),
    [
        ("a b c", "a b c", 0), ("a b c", "a x c", 1), ("a b c", "a c", 1), ("a b c", "a b b c", 1),
        ("a b c", "", 3), ("", "a", 1), ("a b", "b a", 2), ("a b c d", "b c d e", 2),
    ],
)  # fmt: skip
def test_word_errors_are_counted(spoken: str, recognised: str, errors: int) -> None:
    """Each expectation counted by hand from the definition of the edit distance."""
    assert count_word_errors(spoken.split(), recognised.split()) == errors
