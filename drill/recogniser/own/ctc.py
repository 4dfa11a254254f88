"""CTC loss of label probabilities for a sequence of labels, and its gradient.

Forward-backward algorithm over a batch, in logarithms. Source: A. Graves et al., Connectionist
Temporal Classification, ICML 2006, section 4.1.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

NEVER = -1e30
"""Log probability of an impossible event; finite, so that sums need no special case."""


@dataclass(frozen=True, kw_only=True, eq=False)
class CtcResult:
    """Result of a batch.

    losses: shape (items,), the negative log probability of each sequence. occupancy: shape (items,
    frames, outputs), the probability that a frame carries a label, 0 after the end of an item.
    """

    losses: NDArray[np.float64]
    occupancy: NDArray[np.float64]


def ctc_occupancy(
    log_probabilities: NDArray[np.floating],
    labels: Sequence[Sequence[int]],
    lengths: Sequence[int],
) -> CtcResult:
    """Return loss and label occupancy; the gradient with respect to the logits is probabilities -
    occupancy.

    log_probabilities: shape (items, frames, outputs), column 0 the blank. labels: columns of each
    item, at least one, and few enough for its frames. lengths: frames of each item.
    """
    items, frames, outputs = log_probabilities.shape
    states, used, may_skip = _states(labels)
    emitted = np.take_along_axis(
        log_probabilities, np.broadcast_to(states[:, None], (items, frames, states.shape[1])), 2
    ).astype(np.float64)
    emitted = np.where(used[:, None], emitted, NEVER)
    ends = np.array([2 * len(sequence) for sequence in labels])
    last = np.asarray(lengths) - 1
    forward = _forward(emitted, may_skip)
    backward = _backward(emitted, may_skip, ends, last)
    rows = np.arange(items)
    final = forward[rows, last]
    total = np.logaddexp(final[rows, ends], final[rows, ends - 1])
    within = np.arange(frames)[None, :] <= last[:, None]
    shares = np.exp(np.minimum(forward + backward - total[:, None, None], 0.0))
    shares *= within[:, :, None]
    occupancy = np.zeros((items, frames, outputs))
    for state in range(states.shape[1]):
        occupancy[rows[:, None], np.arange(frames)[None], states[:, state, None]] += shares[
            :, :, state
        ]
    return CtcResult(losses=-total, occupancy=occupancy)


def _states(
    labels: Sequence[Sequence[int]],
) -> tuple[NDArray[np.intp], NDArray[np.bool_], NDArray[np.bool_]]:
    """Return label, use, and whether the blank before may be skipped; shape (items, states)."""
    count = 2 * max(len(sequence) for sequence in labels) + 1
    states = np.zeros((len(labels), count), np.intp)
    used = np.zeros((len(labels), count), bool)
    for row, sequence in enumerate(labels):
        states[row, 1 : 2 * len(sequence) : 2] = sequence
        used[row, : 2 * len(sequence) + 1] = True
    may_skip = np.zeros((len(labels), count), bool)
    may_skip[:, 3::2] = states[:, 3::2] != states[:, 1:-2:2]
    return states, used, may_skip


def _shifted(scores: NDArray[np.float64], by: int) -> NDArray[np.float64]:
    """Return scores shifted by a number of states, towards the end if it is positive."""
    moved = np.full_like(scores, NEVER)
    if by > 0:
        moved[:, by:] = scores[:, :-by]
    else:
        moved[:, :by] = scores[:, -by:]
    return moved


def _forward(emitted: NDArray[np.float64], may_skip: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Return log probabilities of all paths to each state, including its own frame."""
    result = np.full_like(emitted, NEVER)
    result[:, 0, :2] = emitted[:, 0, :2]
    for frame in range(1, emitted.shape[1]):
        before = result[:, frame - 1]
        skipped = np.where(may_skip, _shifted(before, 2), NEVER)
        ways = np.logaddexp(np.logaddexp(before, _shifted(before, 1)), skipped)
        result[:, frame] = ways + emitted[:, frame]
    return result


def _backward(
    emitted: NDArray[np.float64],
    may_skip: NDArray[np.bool_],
    ends: NDArray[np.intp],
    last: NDArray[np.intp],
) -> NDArray[np.float64]:
    """Return log probabilities of all paths from each state to the end, without its own frame.

    ends: last state of each item. last: last frame of each item.
    """
    skips_ahead = np.zeros_like(may_skip)
    skips_ahead[:, :-2] = may_skip[:, 2:]
    rows = np.arange(len(emitted))
    finished = np.full_like(emitted[:, 0], NEVER)
    finished[rows, ends] = finished[rows, ends - 1] = 0.0
    result = np.full_like(emitted, NEVER)
    ways = np.full_like(finished, NEVER)
    for frame in range(emitted.shape[1] - 1, -1, -1):
        if frame < emitted.shape[1] - 1:
            after = result[:, frame + 1] + emitted[:, frame + 1]
            skipped = np.where(skips_ahead, _shifted(after, -2), NEVER)
            ways = np.logaddexp(np.logaddexp(after, _shifted(after, -1)), skipped)
        result[:, frame] = np.where((last == frame)[:, None], finished, ways)
    return result
