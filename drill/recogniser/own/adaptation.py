"""Adapts the recogniser to one voice by a correction of the word layer, learnt with CTC in numpy.

The network itself does not change. The correction adds a linear function of its last hidden layer
to the log probabilities of words. It starts at zero and is kept small (L2), so that other voices
are hardly affected. Learning: Adam, D. Kingma and J. Ba, 2014, over all examples at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import UserError, single_line
from drill.recogniser.own.ctc import ctc_occupancy

STEPS = 60
STEP_SIZE = 3e-3
L2 = 1e-3
MOMENTUM, SQUARES_MOMENTUM, TINY = 0.9, 0.99, 1e-8

FloatMatrix = NDArray[np.float32]


@dataclass(frozen=True, kw_only=True, eq=False)
class Adaptation:
    """A correction for one voice and one model.

    weights: shape (hidden width, tokens + 1). bias: shape (tokens + 1,). model_digest: SHA-256 of
    the model that it belongs to.
    """

    weights: FloatMatrix
    bias: FloatMatrix
    model_digest: str

    def apply(self, words: FloatMatrix, hidden: FloatMatrix) -> FloatMatrix:
        """Return corrected log probabilities of words, shape (..., frames, tokens + 1).

        words: log probabilities from the network. hidden: its last hidden layer, shape (...,
        frames, width).
        """
        return log_softmax(words + hidden @ self.weights + self.bias)


@dataclass(frozen=True, kw_only=True, eq=False)
class EnrolmentExample:
    """Speech with known words, as outputs of the network.

    words: log probabilities, shape (frames, tokens + 1). hidden: shape (frames, width). labels:
    tokens that were said.
    """

    words: FloatMatrix
    hidden: FloatMatrix
    labels: tuple[int, ...]


def log_softmax(logits: FloatMatrix) -> FloatMatrix:
    """Return log probabilities along the last axis."""
    shifted = logits - logits.max(-1, keepdims=True)
    return np.asarray(shifted - np.log(np.exp(shifted).sum(-1, keepdims=True)), np.float32)


def learn_adaptation(examples: Sequence[EnrolmentExample], model_digest: str) -> Adaptation:
    """Return the correction that makes the words of the examples more likely.

    Raises: ValueError without examples.
    """
    words, hidden, lengths = _batch(examples)
    labels = [example.labels for example in examples]
    inside = (np.arange(words.shape[1])[None] < np.asarray(lengths)[:, None])[..., None]
    flat = np.hstack([hidden.reshape(-1, hidden.shape[2]), np.ones((inside.size, 1), np.float32)])
    matrix = np.zeros((flat.shape[1], words.shape[2]), np.float32)
    mean, squares = np.zeros_like(matrix), np.zeros_like(matrix)
    for step in range(1, STEPS + 1):
        scores = log_softmax(words + (flat @ matrix).reshape(words.shape))
        expected = ctc_occupancy(scores, labels, lengths).occupancy
        error = ((np.exp(scores) * inside - expected) / sum(lengths)).astype(np.float32)
        slope = flat.T @ error.reshape(-1, words.shape[2]) + L2 * matrix
        mean += (1 - MOMENTUM) * (slope - mean)
        squares += (1 - SQUARES_MOMENTUM) * (slope**2 - squares)
        unbiased = mean / (1 - MOMENTUM**step)
        scale = np.sqrt(squares / (1 - SQUARES_MOMENTUM**step)) + TINY
        matrix = np.asarray(matrix - STEP_SIZE * unbiased / scale, np.float32)
    return Adaptation(weights=matrix[:-1], bias=matrix[-1], model_digest=model_digest)


def _batch(examples: Sequence[EnrolmentExample]) -> tuple[FloatMatrix, FloatMatrix, list[int]]:
    """Return words, hidden layer and lengths of all examples, filled with zeros at their ends."""
    if not examples:
        raise ValueError("there are no examples")
    lengths = [len(example.words) for example in examples]
    shape = len(examples), max(lengths)
    words = np.zeros((*shape, examples[0].words.shape[1]), np.float32)
    hidden = np.zeros((*shape, examples[0].hidden.shape[1]), np.float32)
    for row, example in enumerate(examples):
        words[row, : lengths[row]] = example.words
        hidden[row, : lengths[row]] = example.hidden
    return words, hidden, lengths


def save_adaptation(adaptation: Adaptation, path: Path) -> None:
    """Write a correction, replacing an older one. Raises: UserError if that is impossible."""
    temporary = path.with_suffix(".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with temporary.open("wb") as file:
            np.savez(
                file, weights=adaptation.weights, bias=adaptation.bias,
                model=np.array(adaptation.model_digest),
            )  # fmt: skip
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise UserError(f"{path} cannot be written: {single_line(error)}") from None


def load_adaptation(path: Path) -> Adaptation:
    """Return a correction from a file. Raises: UserError if it cannot be read or is damaged."""
    try:
        with np.load(BytesIO(path.read_bytes()), allow_pickle=False) as data:
            weights, bias = data["weights"], data["bias"]
            digest = str(data["model"])
    except Exception as error:  # numpy and zipfile raise errors of many kinds for damaged files
        raise UserError(f"{path} cannot be read: {single_line(error)}") from None
    is_whole = weights.ndim == 2 and bias.shape == weights.shape[1:]
    if not is_whole or not np.isfinite(weights).all() or not np.isfinite(bias).all():
        raise UserError(f"{path} is damaged; let the recogniser learn the voice again")
    return Adaptation(
        weights=weights.astype(np.float32), bias=bias.astype(np.float32), model_digest=digest
    )
