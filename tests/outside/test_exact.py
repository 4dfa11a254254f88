"""The natural voice's model in double precision against the model's own runtime (onnxruntime)."""

import json
from typing import Any

import numpy as np
import pytest

from drill.voices.engines.natural import engine
from drill.voices.engines.natural.exact import ExactModel
from drill.voices.engines.natural.pronounce import phonemes

WORDS = ("echo", "eight", "alfa", "bravo", "charlie")


@pytest.fixture(scope="module")
def model() -> ExactModel:
    return engine._session()[0]


def inputs(speed: float, kind: type = np.float64) -> dict[str, Any]:
    symbols = json.loads((engine._assets() / "vocab.json").read_text("utf-8"))
    spoken = " ".join(phonemes(word, "") for word in WORDS)
    ids = [0, *(symbols[symbol] for symbol in spoken), 0]
    return {"ids": np.asarray([ids], np.int64), "speed": np.asarray([speed], kind)}


def test_it_gives_what_the_models_own_runtime_gives(model: ExactModel) -> None:
    """The runtime rounds in single precision and to 8 bits: the median difference counts."""
    onnxruntime = pytest.importorskip("onnxruntime")
    runtime = onnxruntime.InferenceSession(
        engine._model_bytes(), providers=["CPUExecutionProvider"]
    )
    theirs = runtime.run(list(engine.OUTPUTS[:6]), inputs(1.0, np.float32))
    for name, ours, other in zip(
        engine.OUTPUTS, model.run(engine.OUTPUTS[:6], inputs(1.0)), theirs, strict=False
    ):
        assert ours.shape == other.shape, name
        assert np.median(np.abs(ours - other)) < 0.03 * np.std(other), name


def test_a_last_bit_does_not_grow(model: ExactModel) -> None:
    """As on another processor: inputs that differ in the last bit, sound that does not."""
    one = model.run(engine.OUTPUTS, inputs(1.1))
    other = model.run(engine.OUTPUTS, inputs(float(np.nextafter(1.1, 2))))
    for name, a, b in zip(engine.OUTPUTS, one, other, strict=True):
        assert np.max(np.abs(a - b)) < 1e-9, name


def test_another_speed_is_another_utterance(model: ExactModel) -> None:
    slow, quick = (model.run(engine.OUTPUTS[5:6], inputs(speed))[0] for speed in (0.8, 1.3))
    assert slow.shape[-1] > 1.3 * quick.shape[-1]
