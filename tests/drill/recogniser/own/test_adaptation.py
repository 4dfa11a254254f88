"""A correction of the word layer makes the spoken words likelier, and is read back from disk."""

from pathlib import Path

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.recogniser.own.adaptation import (
    Adaptation,
    EnrolmentExample,
    learn_adaptation,
    load_adaptation,
    log_softmax,
    save_adaptation,
)
from drill.recogniser.own.ctc import ctc_occupancy

WIDTH, OUTPUTS = 8, 5


def examples() -> list[EnrolmentExample]:
    """Return examples whose hidden layer shows the label, and whose words prefer another."""
    rng = np.random.default_rng(1)
    result = []
    for number in range(12):
        label = 1 + number % 3
        hidden = rng.normal(0, 0.1, (6, WIDTH)).astype(np.float32)
        hidden[2:4, label] += 3.0
        logits = rng.normal(0, 0.5, (6, OUTPUTS)).astype(np.float32)
        logits[2:4, 4] += 2.0
        result.append(EnrolmentExample(words=log_softmax(logits), hidden=hidden, labels=(label,)))
    return result


def mean_loss(adaptation: Adaptation | None) -> float:
    losses = [
        ctc_occupancy(
            (one.words if adaptation is None else adaptation.apply(one.words, one.hidden))[None],
            [one.labels],
            [len(one.words)],
        ).losses[0]
        for one in examples()
    ]
    return float(np.mean(losses))


def test_learning_makes_the_words_likelier() -> None:
    learnt = learn_adaptation(examples(), "digest")
    assert learnt.weights.shape == (WIDTH, OUTPUTS)
    assert mean_loss(learnt) < 0.8 * mean_loss(None)
    corrected = learnt.apply(examples()[0].words, examples()[0].hidden)
    assert np.exp(corrected).sum(-1) == pytest.approx(1.0, abs=1e-5)


def test_the_same_examples_give_the_same_correction() -> None:
    first, second = (learn_adaptation(examples(), "digest") for _ in range(2))
    assert np.array_equal(first.weights, second.weights)


def test_learning_without_examples_is_refused() -> None:
    with pytest.raises(ValueError, match="no examples"):
        learn_adaptation([], "digest")


def test_a_correction_is_read_back_as_it_was_written(tmp_path: Path) -> None:
    learnt = learn_adaptation(examples(), "digest")
    path = tmp_path / "voices" / "mine.npz"
    save_adaptation(learnt, path)
    read = load_adaptation(path)
    assert np.array_equal(read.weights, learnt.weights)
    assert np.array_equal(read.bias, learnt.bias)
    assert read.model_digest == "digest"
    assert [entry.name for entry in path.parent.iterdir()] == ["mine.npz"]


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 broken", b"\x93NUMPY"])
def test_a_damaged_file_is_named(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "mine.npz"
    path.write_bytes(content)
    with pytest.raises(UserError, match=r"mine\.npz cannot be read"):
        load_adaptation(path)


def test_a_file_with_other_shapes_is_damaged(tmp_path: Path) -> None:
    path = tmp_path / "mine.npz"
    np.savez(path, weights=np.zeros((2, 3)), bias=np.zeros(2), model=np.array("digest"))
    with pytest.raises(UserError, match="damaged"):
        load_adaptation(path)
