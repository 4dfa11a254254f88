"""The CTC loss equals the sum over all paths, and its gradient equals finite differences."""

from itertools import groupby, product

import numpy as np
import pytest
from numpy.typing import NDArray

from drill.recogniser.own.adaptation import log_softmax
from drill.recogniser.own.ctc import ctc_occupancy


def log_probabilities(frames: int, outputs: int, seed: int) -> NDArray[np.float64]:
    logits = np.random.default_rng(seed).normal(0, 2, (frames, outputs))
    return np.asarray(logits - np.log(np.exp(logits).sum(1, keepdims=True)))


def loss_of_all_paths(scores: NDArray[np.float64], labels: tuple[int, ...]) -> float:
    """Return the loss by the definition: repeats are merged, then blanks removed."""
    total = 0.0
    for path in product(range(scores.shape[1]), repeat=len(scores)):
        merged = tuple(label for label, _ in groupby(path) if label)
        if merged == labels:
            total += float(np.exp(sum(scores[frame, label] for frame, label in enumerate(path))))
    return -float(np.log(total))


@pytest.mark.parametrize("labels", [(1,), (1, 2), (2, 2), (1, 2, 1)])
def test_the_loss_is_the_sum_over_all_paths(labels: tuple[int, ...]) -> None:
    scores = log_probabilities(5, 3, seed=len(labels))
    result = ctc_occupancy(scores[None], [labels], [5])
    assert result.losses[0] == pytest.approx(loss_of_all_paths(scores, labels))


def test_items_of_a_batch_do_not_touch_each_other() -> None:
    first, second = log_probabilities(6, 4, 1), log_probabilities(4, 4, 2)
    batch = np.zeros((2, 6, 4))
    batch[0], batch[1, :4] = first, second
    result = ctc_occupancy(batch, [(1, 2, 3), (2,)], [6, 4])
    alone = ctc_occupancy(second[None], [(2,)], [4])
    assert result.losses[1] == pytest.approx(alone.losses[0])
    assert result.occupancy[1, :4] == pytest.approx(alone.occupancy[0])
    assert not result.occupancy[1, 4:].any()


def test_every_frame_carries_one_label() -> None:
    result = ctc_occupancy(log_probabilities(8, 5, 3)[None], [(1, 4, 4)], [8])
    assert result.occupancy.sum(2) == pytest.approx(1.0)


def test_the_gradient_is_probabilities_minus_occupancy() -> None:
    logits = np.random.default_rng(4).normal(0, 1, (1, 5, 3))

    def loss(changed: NDArray[np.float64]) -> float:
        scores = changed - np.log(np.exp(changed).sum(2, keepdims=True))
        return float(ctc_occupancy(scores, [(1, 2)], [5]).losses[0])

    scores = log_softmax(logits.astype(np.float32))
    gradient = np.exp(scores) - ctc_occupancy(scores, [(1, 2)], [5]).occupancy
    for place in np.ndindex(logits.shape):
        step = np.zeros_like(logits)
        step[place] = 1e-4
        slope = (loss(logits + step) - loss(logits - step)) / 2e-4
        assert gradient[place] == pytest.approx(slope, abs=1e-4)
