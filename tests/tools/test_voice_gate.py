"""The gate tells intelligible voices from others, and its table lists every operator."""

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest

from drill.core.models import Clip, Operator
from drill.voices import find_engine, speak_uncached
from drill.voices.operators import find_operator
from drill.voices.people.roster import ENGINE_GROUPS, default_members, group_members
from phonetics.message import Word
from tests.tools.voice_gate.calls import call_words, compose_gate_calls
from tests.tools.voice_gate.judge import (
    REQUIRED_SHARE,
    WordCount,
    call_threshold_db,
    count_words,
    judge_operator,
    shares_in_noise,
    speak_calls,
)
from tests.tools.voice_gate.recognisers import characters_of_text, written_characters
from tests.tools.voice_gate.table import PASSES, TABLE_HEADER, table_row, verdict
from tests.tools.voice_gate.work import RECOGNISERS, GateWork, OperatorResult

MEASURED = Path(__file__).parents[1] / "measured" / "voice_gate.md"
OPERATORS = tuple(operator for group in ENGINE_GROUPS for operator in group_members(group))


def table_rows() -> list[list[str]]:
    """Return the cells of each operator's row."""
    lines = MEASURED.read_text("utf-8").split("<!-- gate -->\n")[1].split("<!-- /gate -->")[0]
    rows = [line.strip("| ").split(" | ") for line in lines.splitlines()]
    assert " | ".join(rows[0]) == TABLE_HEADER[0].strip("| ")
    return rows[2:]


def measured_share(operator: Operator, recogniser: str) -> float:
    """Return the share of words that the table gives an operator, 0 to 1."""
    cells = next(cells for cells in table_rows() if cells[0] == operator.name)
    return float(cells[7 + RECOGNISERS.index(recogniser)]) / 100


def result(operator: Operator, *, wrong: int = 0, threshold_db: float = -5.0) -> OperatorResult:
    return OperatorResult(
        operator=operator,
        pitch_hz=0,
        counts={name: WordCount(words=120, wrong=wrong) for name in RECOGNISERS},
        threshold_db=threshold_db,
    )


class TestTable:
    def test_it_lists_every_operator_with_its_present_properties(self) -> None:
        rows = {cells[0]: cells for cells in table_rows()}
        measured = [operator for operator in OPERATORS if operator.name in rows]
        assert [operator.name for operator in measured] == list(rows)
        assert len(measured) >= len(group_members("bundled"))
        for operator in measured:
            expected = table_row(result(operator), -5.0).strip("| ").split(" | ")
            assert rows[operator.name][:5] == expected[:5], "remake the table"

    @pytest.mark.parametrize("group", ["natural", "studio"])
    def test_every_operator_of_default_draws_passes(self, group: str) -> None:
        rows = {cells[0]: cells for cells in table_rows()}
        for operator in default_members(group):
            assert rows[operator.name][-1] == PASSES, operator.name
            for name in RECOGNISERS:
                assert measured_share(operator, name) >= REQUIRED_SHARE, operator.name

    def test_an_operator_that_passes_is_drawn_by_default(self) -> None:
        passing = {cells[0] for cells in table_rows() if cells[-1] == PASSES}
        for group in ("natural", "studio"):
            drawn = {operator.name for operator in default_members(group)}
            members = {operator.name for operator in group_members(group)}
            assert drawn == members & passing


class TestVerdict:
    def test_each_recogniser_and_noise_can_fail_an_operator(self) -> None:
        slate = find_operator("slate")
        assert verdict(result(slate), -5.0) == PASSES
        assert verdict(result(slate, wrong=12), -5.0) == PASSES
        assert verdict(result(slate, wrong=13), -5.0) == f"fails: {', '.join(RECOGNISERS)}"
        assert verdict(result(slate, threshold_db=-2.0), -5.0) == PASSES
        for threshold_db in (-1.9, math.nan):
            assert verdict(result(slate, threshold_db=threshold_db), -5.0) == "fails: noise"


def speak_backwards(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    clip = find_engine(operator.engine).synthesise(words, operator, seed)
    return replace(clip, samples=clip.samples[::-1])


def speak_other_call(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    other_words = call_words(compose_gate_calls(1, Random(seed + 99))[0])
    return find_engine(operator.engine).synthesise(other_words, operator, seed)


def speak_noise(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    noise = 0.2 * np.random.default_rng(seed).standard_normal(48_000)
    return Clip(samples=noise.astype(np.float32), rate_hz=16_000)


@pytest.mark.parametrize(
    "recogniser", ["own", pytest.param("pocketsphinx", marks=pytest.mark.slow)]
)
class TestJudge:
    def test_a_voice_that_is_understood_passes(self, recogniser: str) -> None:
        meadow = find_operator("meadow")
        assert judge_operator(meadow, speak_uncached, recogniser=recogniser, calls=5).passed

    @pytest.mark.parametrize("speak", [speak_backwards, speak_other_call, speak_noise])
    def test_reversed_speech_noise_and_another_call_fail(
        self, recogniser: str, speak: object
    ) -> None:
        assert callable(speak)
        count = judge_operator(find_operator("meadow"), speak, recogniser=recogniser, calls=4)
        assert count.share_right < 0.5

    def test_formants_at_half_their_frequency_fail(self, recogniser: str) -> None:
        giant = replace(find_operator("meadow"), formant_scale=0.5)
        speak = find_engine("natural").synthesise
        assert not judge_operator(giant, speak, recogniser=recogniser, calls=4).passed


def test_a_call_has_at_most_as_many_errors_as_words() -> None:
    class Talkative:
        name, version = "talkative", "1"

        def characters(self, clip: Clip) -> list[str]:
            return ["thank", "you"] * 40

    spoken = speak_calls(find_operator("meadow"), speak_noise, calls=2)
    count = count_words(Talkative(), spoken)
    assert (count.words, count.wrong, count.share_right) == (12, 12, 0.0)
    assert [call for call, _ in count.mistakes] == [call for call, _ in spoken]


@pytest.mark.slow
def test_fewer_calls_are_copied_in_more_noise() -> None:
    from drill.recogniser.own.engine import OwnRecogniser

    spoken = speak_calls(find_operator("meadow"), speak_uncached, calls=5)
    shares = shares_in_noise(OwnRecogniser(), spoken)
    assert shares[3.0] >= 0.8 > shares[-8.0]
    assert -9 < call_threshold_db(shares, 5) < 1


class TestWork:
    def test_clips_and_results_are_kept_for_the_next_run(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("tests.tools.voice_gate.work.RECOGNISERS", ("own",))
        meadow = find_operator("meadow")
        first = GateWork(tmp_path).measure(meadow, calls=2, seed="x", noise=False)
        assert first.counts["own"].words == 12

        def fail(*_: object) -> Clip:
            raise AssertionError("measured again")

        monkeypatch.setattr("tests.tools.voice_gate.work.speak_uncached", fail)
        monkeypatch.setattr("tests.tools.voice_gate.work.count_words", fail)
        again = GateWork(tmp_path).measure(meadow, calls=2, seed="x", noise=False)
        assert again.counts == first.counts
        with pytest.raises(AssertionError, match="measured again"):
            GateWork(tmp_path).measure(meadow, calls=2, seed="y", noise=False)


def test_twenty_calls_have_every_letter_and_digit_twice() -> None:
    characters = "".join(compose_gate_calls(20, Random(5)))
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
    assert all(characters.count(character) >= 2 for character in alphabet)


@pytest.mark.parametrize(
    ("text", "characters"),
    [
        (" Tango 9-1, Romeo, X-ray.", "T 9 1 R X"),
        ("Hotel 5.7 x ray Golf", "H 5 7 X G"),
        ("Echo 87 alpha juliet", "E 87 A J"),
        ("Vuzu, thank you!", "vuzu thank you"),
    ],
)
def test_written_text_becomes_characters(text: str, characters: str) -> None:
    expected = [c for word in characters.split() for c in ([word], list(word))[word.isdigit()]]
    assert characters_of_text(text) == expected


def test_every_way_to_say_a_figure_is_written_as_its_digit() -> None:
    assert written_characters(["fower", "four", "niner", "oh", "over"]) == [
        "4", "4", "9", "0", "over",
    ]  # fmt: skip
