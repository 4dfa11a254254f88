"""The recogniser `own` with the model that ships."""

import dataclasses
from itertools import pairwise

import numpy as np
import pytest

from drill.core.conditions import Conditions
from drill.core.errors import NoRecogniser, UserError
from drill.core.models import Clip
from drill.radio.channel import simulate
from drill.recogniser import find_recogniser, recogniser_names
from drill.recogniser.grammar import build_grammar, sequence
from drill.recogniser.language import call_grammar, character_grammar, message_grammar
from drill.recogniser.own.engine import OwnRecogniser, clip_features
from drill.recogniser.own.model import AcousticModel, load_model
from drill.voices import speak
from drill.voices.operators import find_operator
from phonetics.exchanges import load_exchange
from phonetics.message import Word

CALL = ("echo", "eight", "seven", "delta", "x-ray", "papa")
OVER = ("hello", "echo", "eight", "seven", "delta", "x-ray", "papa", "here", "please", "copy",
        "five", "nine", "zero", "four", "two", "good", "luck")  # fmt: skip


def _spoken(words: tuple[str, ...], operator: str = "birch") -> Clip:
    return speak([Word(say=word) for word in words], find_operator(operator), 1)


@pytest.fixture(scope="module")
def recogniser() -> OwnRecogniser:
    return OwnRecogniser()


def test_it_is_found_by_its_name() -> None:
    assert "own" in recogniser_names()
    assert isinstance(find_recogniser("own"), OwnRecogniser)


def test_the_model_is_small_enough(recogniser: OwnRecogniser) -> None:
    from importlib.resources import files

    assert len((files("drill.recogniser.own") / "model.onnx").read_bytes()) <= 6_000_000
    assert recogniser.problem() == ""
    assert recogniser.version == load_model().digest[:12]


@pytest.mark.parametrize("operator", ["birch", "meadow", "granite"])
def test_calls_are_copied_in_quiet_and_at_6_db(recogniser: OwnRecogniser, operator: str) -> None:
    clip, grammar = _spoken(CALL, operator), call_grammar(alternates=True)
    assert recogniser.transcribe(clip, grammar).text == "E87DXP"
    received = simulate(clip, Conditions(snr_db=6.0), 3).clip
    assert recogniser.transcribe(received, grammar).text == "E87DXP"


def test_a_whole_over_is_copied(recogniser: OwnRecogniser) -> None:
    grammar = message_grammar(load_exchange("serial"), alternates=True)
    result = recogniser.transcribe(_spoken(OVER), grammar)
    assert tuple(unit.word.say for unit in result.units) == OVER
    assert result.text == "E87DXP59042"


def test_word_times_match_those_of_the_voice(recogniser: OwnRecogniser) -> None:
    """The voice's own word times are the reference; the network emits a long last vowel early."""
    clip = _spoken(CALL)
    words = recogniser.recognise(clip, call_grammar())
    assert [word.say for word in words] == list(CALL)
    for word, spoken in zip(words, clip.words, strict=True):
        assert word.start_s == pytest.approx(spoken.start_s, abs=0.08)
        assert word.end_s == pytest.approx(spoken.end_s, abs=0.2)
    for before, after in pairwise(words):
        assert before.end_s <= after.start_s


def test_the_same_clip_gives_the_same_result(recogniser: OwnRecogniser) -> None:
    clip, grammar = simulate(_spoken(CALL), Conditions(snr_db=-3.0), 3).clip, call_grammar()
    first = recogniser.transcribe(clip, grammar)
    assert first == OwnRecogniser(load_model()).transcribe(clip, grammar)


def test_confidence_falls_in_noise(recogniser: OwnRecogniser) -> None:
    clip, grammar = _spoken(CALL), call_grammar(alternates=True)
    levels = [
        np.mean(
            [
                recogniser.transcribe(
                    simulate(clip, Conditions(snr_db=snr_db), seed).clip, grammar
                ).confidence
                for seed in range(4)
            ]
        )
        for snr_db in (12.0, -3.0, -12.0)
    ]
    assert levels[0] > 0.8 > levels[2]
    assert levels == sorted(levels, reverse=True)


def test_rivals_are_units_that_the_grammar_allows(recogniser: OwnRecogniser) -> None:
    received = simulate(_spoken(CALL), Conditions(snr_db=-6.0), 3).clip
    for unit in recogniser.transcribe(received, call_grammar()).units:
        chances = [rival.probability for rival in unit.rivals]
        assert chances == sorted(chances, reverse=True)
        assert unit.name not in {rival.name for rival in unit.rivals}
        assert all(0 <= chance <= 1 for chance in (*chances, unit.confidence))


@pytest.mark.parametrize("lead_s", [0.0, 0.5, 2.0, 4.0])
def test_silence_before_the_words_does_not_matter(recogniser: OwnRecogniser, lead_s: float) -> None:
    clip = _spoken(CALL, "meadow")
    silence = np.zeros(round(lead_s * clip.rate_hz), np.float32)
    padded = Clip(samples=np.concatenate([silence, clip.samples]), rate_hz=clip.rate_hz)
    received = simulate(padded, Conditions(snr_db=12.0), 3).clip
    assert recogniser.transcribe(received, call_grammar(alternates=True)).text == "E87DXP"


def test_a_single_word_is_distinguished_from_all_others(recogniser: OwnRecogniser) -> None:
    grammar = character_grammar(alternates=True)
    for word, character in (("quebec", "Q"), ("seven", "7"), ("slash", "/")):
        assert recogniser.transcribe(_spoken((word,)), grammar).text == character


def test_silence_and_an_empty_clip_have_no_words(recogniser: OwnRecogniser) -> None:
    for count in (0, 16_000):
        clip = Clip(samples=np.zeros(count, np.float32), rate_hz=16_000)
        assert recogniser.recognise(clip, call_grammar()) == ()
        assert len(clip_features(clip)) == 0


def test_an_unknown_word_of_the_grammar_is_named(recogniser: OwnRecogniser) -> None:
    with pytest.raises(UserError, match="'lighthouse'"):
        recogniser.recognise(_spoken(CALL), build_grammar("x", sequence("kilo", "lighthouse")))


def test_a_damaged_model_is_a_problem_in_one_line() -> None:
    with pytest.raises(NoRecogniser, match="does not start"):
        AcousticModel(b"not a model")


def test_results_are_plain_data(recogniser: OwnRecogniser) -> None:
    result = recogniser.transcribe(_spoken(CALL), call_grammar())
    data = dataclasses.asdict(result)
    assert [unit["name"] for unit in data["units"]] == list("E87DXP")
