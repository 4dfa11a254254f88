"""Outside check: every operator is understood by pocketsphinx 5.1.1, which knows nothing of us.

The floors, 95 % of words for natural voices and 85 % for formant voices, are the project's own
choice; the recogniser's model and dictionary are those of the CMU Sphinx project (BSD). The table
in DEVELOPERS.md has everybody; here a few of every engine, style and accent are heard again.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest

from drill.core.models import Clip, Operator
from drill.voices import find_engine, speak_uncached
from drill.voices.operators import find_operator
from drill.voices.people.roster import ROSTER
from phonetics.message import Word
from tests.tools.voice_gate import (
    HEAD,
    REQUIRED,
    Verdict,
    composed_calls,
    errors,
    judge,
    row_of,
    words_of,
)

DEVELOPERS = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text("utf-8")
TABLE = DEVELOPERS.split("<!-- gate -->\n")[1].split("<!-- /gate -->")[0].splitlines()
ACCURACY = re.compile(r"([\d.]+) %( \(hard\))? \|$")
# The last of each engine and style, and of each engine and accent.
SOFT = [each for each in ROSTER if not each.hard]
CAST = dict.fromkeys(
    [
        *{(each.engine, each.vocal_style): each for each in SOFT}.values(),
        *{(each.engine, each.accent): each for each in SOFT}.values(),
    ]
)


def told(each: Operator) -> float:
    """Return the share that the table gives an operator."""
    row = next(line for line in TABLE if line.startswith(f"| {each.name} |"))
    found = ACCURACY.search(row)
    assert found
    return float(found[1]) / 100


@pytest.mark.slow
@pytest.mark.parametrize("each", CAST, ids=lambda each: each.name)
def test_the_operator_is_understood_as_the_table_says(each: Operator) -> None:
    """Within 2 %: two words of 120, for another version of numpy under the recogniser."""
    verdict = judge(each, speak_uncached)
    assert verdict.passed, f"{100 * verdict.accuracy:.1f} %: {verdict.confusions}"
    assert verdict.accuracy == pytest.approx(told(each), abs=0.02)


def test_the_table_lists_the_roster_and_nobody_fails() -> None:
    assert tuple(TABLE[:2]) == HEAD
    assert len(TABLE) == 2 + len(ROSTER)
    for line, each in zip(TABLE[2:], ROSTER, strict=True):
        blank = row_of(Verdict(operator=each, words=120, wrong=0, pitch_hz=0))
        assert line.split(" | ")[:5] == blank.split(" | ")[:5], "remake the table"
        assert told(each) >= REQUIRED[each.engine] or each.hard, line
        assert ("(hard)" in line) <= each.hard


@pytest.mark.parametrize("name", ["reed", "kettle"])
def test_some_calls_of_a_few_are_understood(name: str) -> None:
    """Eight calls have a floor of their own: three words of 48 below the engine's."""
    each = find_operator(name)
    assert judge(each, speak_uncached, calls=8).accuracy > REQUIRED[each.engine] - 3 / 48


def backwards(words: Sequence[Word], each: Operator, seed: int) -> Clip:
    clip = find_engine(each.engine).synthesise(words, each, seed)
    return replace(clip, samples=clip.samples[::-1])


def test_a_backwards_voice_fails() -> None:
    verdict = judge(find_operator("meadow"), backwards, calls=5)
    assert not verdict.passed
    assert verdict.accuracy < 0.5


@pytest.mark.parametrize("name", ["meadow", "tin"])
def test_a_voice_of_a_monstrous_tract_fails(name: str) -> None:
    giant = replace(find_operator(name), formant_scale=0.5)
    assert not judge(giant, find_engine(giant.engine).synthesise, calls=5).passed


def test_a_voice_that_says_other_words_fails() -> None:
    speak = find_engine("natural").synthesise

    def liar(words: Sequence[Word], each: Operator, seed: int) -> Clip:
        return speak(words_of(composed_calls(1, Random(seed + 99))[0]), each, seed)

    assert not judge(find_operator("meadow"), liar, calls=5).passed


def test_the_calls_hold_every_letter_and_digit_twice() -> None:
    said = "".join(composed_calls(20, Random(5)))
    assert all(said.count(symbol) >= 2 for symbol in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789")


@pytest.mark.parametrize(
    ("said", "heard", "wrong"),
    [
        ("a b c", "a b c", 0), ("a b c", "a x c", 1), ("a b c", "a c", 1), ("a b c", "a b b c", 1),
        ("a b c", "", 3), ("", "a", 1), ("a b", "b a", 2), ("a b c d", "b c d e", 2),
    ],
)  # fmt: skip
def test_errors_are_counted(said: str, heard: str, wrong: int) -> None:
    """Each expectation counted by hand from the definition of the edit distance."""
    assert errors(said.split(), heard.split()) == wrong


def test_noise_is_not_understood() -> None:
    def noise(words: Sequence[Word], each: Operator, seed: int) -> Clip:
        sound = 0.2 * np.random.default_rng(seed).standard_normal(48_000)
        return Clip(samples=sound.astype(np.float32), rate_hz=16_000)

    assert judge(find_operator("meadow"), noise, calls=3).accuracy < 0.5
