"""Forced alignment on invented posteriors."""

import numpy as np
import pytest

from drill.core.arrays import FloatArray
from drill.recogniser.own.alignment import LabelFrames, align_labels, word_times


def _posteriors(path: list[int], outputs: int = 5) -> FloatArray:
    """Return log probabilities in which each frame's label has 0.9."""
    rows = np.full((len(path), outputs), 0.1 / (outputs - 1))
    rows[np.arange(len(path)), path] = 0.9
    logarithms: FloatArray = np.log(rows)
    return logarithms


def test_labels_are_found_where_they_are_emitted() -> None:
    spans = align_labels(_posteriors([0, 1, 1, 0, 2, 0, 3]), [1, 2, 3])
    assert spans == (LabelFrames(1, 2), LabelFrames(4, 4), LabelFrames(6, 6))


def test_the_same_label_twice_needs_a_blank_between() -> None:
    spans = align_labels(_posteriors([1, 1, 0, 1]), [1, 1])
    assert spans == (LabelFrames(0, 1), LabelFrames(3, 3))
    spans = align_labels(_posteriors([1, 1, 1, 1, 1]), [1, 1])
    assert spans[0].last + 1 < spans[1].first


def test_labels_that_are_not_heard_are_still_put_in_order() -> None:
    spans = align_labels(_posteriors([0, 1, 0, 0, 3, 0]), [1, 2, 3])
    assert spans[0].last < spans[1].first <= spans[1].last < spans[2].first


def test_too_few_frames_are_refused() -> None:
    with pytest.raises(ValueError, match="2 frames are too few for 3 labels"):
        align_labels(_posteriors([1, 2]), [1, 2, 3])


def test_no_labels_have_no_frames() -> None:
    assert align_labels(_posteriors([0, 0]), []) == ()


def test_words_last_from_their_first_phoneme_to_their_last() -> None:
    path = [0] * 10 + [1] + [0] * 4 + [2] + [0] * 10 + [3] + [0] * 3 + [4] + [0] * 5
    times = word_times(_posteriors(path), [(1, 2), (3, 4)], 0.0, len(path) * 0.02)
    assert times[0] == pytest.approx((0.17, 0.35))
    assert times[1] == pytest.approx((0.49, 0.65))


def test_times_count_from_the_start_of_the_clip() -> None:
    path = [0] * 10 + [1] + [0] * 10
    (time,) = word_times(_posteriors(path), [(1,)], 0.1, 0.2)
    assert time == pytest.approx((0.07, 0.15))


def test_words_of_a_clip_that_is_too_short_share_it() -> None:
    times = word_times(_posteriors([0, 1]), [(1, 2), (3, 4)], 0.0, 1.0)
    assert times == ((0.0, 0.5), (0.5, 1.0))
