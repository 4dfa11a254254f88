"""The natural voice's network compared with ONNX's reference evaluator and with onnxruntime."""

from dataclasses import fields
from functools import cache
from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray

from drill.core.models import Operator
from drill.voices.engines.natural.model import (
    load_network,
    natural_model_content,
    natural_symbol_numbers,
)
from drill.voices.engines.natural.network import SpectralFrames
from drill.voices.engines.natural.pronounce import phonemes_of_word
from drill.voices.people.roster import ROSTER
from phonetics.phrases import message_vocabulary
from tests.tools.reference_network import ReferenceNetwork

SPECTRA = ("lh", "theta", "ln", "lr", "phi", "f0")
DURATIONS = "/Clip_output_0"
WORDS = ("echo", "eight", "alfa", "bravo", "charlie")
OPERATORS = [operator for operator in ROSTER if operator.engine == "natural"]


@cache
def reference() -> ReferenceNetwork:
    return ReferenceNetwork(natural_model_content())


def symbols_of(words: tuple[str, ...], accent: str = "") -> list[int]:
    text = " ".join(phonemes_of_word(word, accent) for word in words)
    numbers = natural_symbol_numbers()
    return [0, *(numbers[symbol] for symbol in text), 0]


def assert_same(symbols: list[int], speed: float) -> None:
    inputs = {"ids": np.asarray([symbols], np.int64), "speed": np.asarray([speed])}
    *spectra, durations = reference().run([*SPECTRA, DURATIONS], inputs)
    output = load_network().run(symbols, speed)
    for field, expected in zip(fields(SpectralFrames), spectra, strict=True):
        actual = getattr(output.frames, field.name)
        assert np.array_equal(actual, expected[0].astype(np.float32)), field.name
    assert np.array_equal(output.durations, durations)


@pytest.mark.parametrize(
    "speed", [1.0, *(pytest.param(speed, marks=pytest.mark.slow) for speed in (0.7, 1.5))]
)
def test_the_output_equals_the_reference_evaluators(speed: float) -> None:
    assert_same(symbols_of(WORDS), speed)


def test_a_single_symbol_equals_the_reference_evaluators() -> None:
    assert_same([0, natural_symbol_numbers()["a"], 0], 1.0)


@pytest.mark.slow
@pytest.mark.parametrize("operator", OPERATORS, ids=lambda operator: operator.name)
def test_every_operator_equals_the_reference_evaluator(operator: Operator) -> None:
    """Random words with the operator's pace and accent."""
    words = Random(operator.name).sample(sorted(message_vocabulary()), 12)
    assert_same(symbols_of(tuple(words), operator.accent), operator.pace)


def runtime_spectra(symbols: list[int]) -> list[NDArray[np.float32]]:
    onnxruntime = pytest.importorskip("onnxruntime")
    session = onnxruntime.InferenceSession(
        natural_model_content(), providers=["CPUExecutionProvider"]
    )
    inputs = {"ids": np.asarray([symbols], np.int64), "speed": np.asarray([1.0], np.float32)}
    return list(session.run(list(SPECTRA), inputs))


def test_the_output_is_close_to_that_of_onnxruntime() -> None:
    """onnxruntime uses single precision and rounds to 8 bits, so only the median is compared."""
    symbols = symbols_of(WORDS)
    frames = load_network().run(symbols, 1.0).frames
    for field, expected in zip(fields(SpectralFrames), runtime_spectra(symbols), strict=True):
        actual = getattr(frames, field.name)
        assert actual.shape == expected[0].shape, field.name
        assert np.median(np.abs(actual - expected[0])) < 0.03 * np.std(expected), field.name


def test_a_difference_in_the_last_bit_does_not_grow() -> None:
    """Processors differ in the last bit; such a difference must not change the output."""
    symbols = symbols_of(WORDS)
    first = load_network().run(symbols, 1.1)
    second = load_network().run(symbols, float(np.nextafter(1.1, 2)))
    for field in fields(SpectralFrames):
        a, b = (getattr(output.frames, field.name) for output in (first, second))
        assert np.max(np.abs(a - b)) < 1e-9, field.name


def test_a_higher_speed_gives_fewer_frames() -> None:
    slow, quick = (load_network().run(symbols_of(WORDS), speed) for speed in (0.8, 1.3))
    assert slow.frames.pitch_hz.shape[-1] > 1.3 * quick.frames.pitch_hz.shape[-1]
