"""Times of units and their words: forced alignment with CTC posteriors.

The likeliest path of labels through the frames (Viterbi). Words come from the word output, their
starts and ends from the phoneme output, whose frames are finer and whose labels cover the word.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from drill.recogniser.own.model import PHONEME_FRAME_S

MARGIN_S = 0.03
"""The network emits a phoneme near its middle, so a word begins and ends this much outside them."""


@dataclass(frozen=True, slots=True)
class LabelFrames:
    """Frames first to last, both included, on which a label is emitted."""

    first: int
    last: int


def align_labels(
    log_probabilities: NDArray[np.floating], labels: Sequence[int]
) -> tuple[LabelFrames, ...]:
    """Return the frames of each label on the likeliest CTC path.

    log_probabilities: (frames, outputs), column 0 the blank. labels: columns in their order.
    Raises: ValueError if there are too few frames for the labels.
    """
    if not labels:
        return ()
    extended = np.zeros(2 * len(labels) + 1, np.intp)
    extended[1::2] = labels
    scores = log_probabilities[:, extended].astype(np.float64)
    frames, states = scores.shape
    may_skip = np.zeros(states, bool)
    may_skip[3::2] = extended[3::2] != extended[1:-2:2]
    best = np.full(states, -np.inf)
    best[:2] = scores[0, :2]
    steps = np.zeros((frames, states), np.int8)
    for frame in range(1, frames):
        ways = np.full((3, states), -np.inf)
        ways[0] = best
        ways[1, 1:] = best[:-1]
        ways[2, 2:] = np.where(may_skip[2:], best[:-2], -np.inf)
        steps[frame] = ways.argmax(0)
        best = ways.max(0) + scores[frame]
    state = states - 1 if best[-1] >= best[-2] else states - 2
    if best[state] == -np.inf:
        raise ValueError(f"{frames} frames are too few for {len(labels)} labels")
    path = np.empty(frames, np.intp)
    for frame in range(frames - 1, -1, -1):
        path[frame] = state
        state -= int(steps[frame, state])
    return tuple(
        LabelFrames(int(on[0]), int(on[-1]))
        for on in (np.flatnonzero(path == 2 * place + 1) for place in range(len(labels)))
    )


def word_times(
    phonemes: NDArray[np.floating], readings: Sequence[Sequence[int]], lead_s: float, seconds: float
) -> tuple[tuple[float, float], ...]:
    """Return start and end in seconds of each word, in order and without overlap.

    phonemes: log probabilities (frames, outputs), whose first frame lies lead_s before the clip.
    readings: the phonemes of each word. seconds: length of the clip. If the clip is too short for
    the phonemes, it is divided evenly among the words.
    """
    labels = [phoneme for reading in readings for phoneme in reading]
    try:
        spans = align_labels(phonemes, labels)
    except ValueError:
        edges = np.linspace(0, seconds, len(readings) + 1)
        return tuple((float(a), float(b)) for a, b in pairwise(edges))
    times: list[tuple[float, float]] = []
    at = 0
    for reading in readings:
        first, last = spans[at], spans[at + len(reading) - 1]
        start_s = first.first * PHONEME_FRAME_S - MARGIN_S - lead_s
        end_s = (last.last + 1) * PHONEME_FRAME_S + MARGIN_S - lead_s
        times.append((min(max(0.0, start_s), seconds), min(max(0.0, end_s), seconds)))
        at += len(reading)
    return _apart(times)


def _apart(times: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Return the times; where two neighbours overlap, both get the middle of the overlap."""
    result = list(times)
    for place in range(1, len(result)):
        (start, end), (after, last) = result[place - 1], result[place]
        if after < end:
            middle = min(max((after + end) / 2, start), last)
            result[place - 1], result[place] = (start, middle), (middle, last)
    return tuple(result)
