"""Raw sound is checked, and the times of its words are put in order."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import NoVoice
from drill.voices.effects.finish import finish_clip, spans_by_letters
from phonetics.message import Word


@given(
    spans=st.lists(st.tuples(st.floats(-1, 5), st.floats(-1, 5)), max_size=12),
    seconds=st.floats(0.05, 3),
)
def test_any_word_times_are_put_in_order_within_the_clip(
    spans: list[tuple[float, float]], seconds: float
) -> None:
    sound = np.sin(np.arange(int(8000 * seconds)))
    clip = finish_clip(sound, 8000, [("x", start, end) for start, end in spans])
    edges = [edge for word in clip.words for edge in (word.start_s, word.end_s)]
    assert edges == sorted(edges)
    assert len(clip.words) == len(spans)
    assert all(word.start_s < word.end_s for word in clip.words)
    assert not edges or (edges[0] >= 0 and edges[-1] <= clip.seconds + 1e-9)


def test_silence_at_the_ends_is_trimmed_and_the_peak_is_set() -> None:
    """Half a second of silence on both sides of one second of sound."""
    sound = np.pad(0.1 * np.ones(8000), 4000)
    clip = finish_clip(sound, 8000, [("x", 0.5, 1.5)])
    assert clip.seconds == pytest.approx(1.08, abs=0.01)
    assert np.abs(clip.samples).max() == pytest.approx(0.8)
    (word,) = clip.words
    assert word.start_s == pytest.approx(0.03, abs=0.006)
    assert word.end_s == pytest.approx(1.03, abs=0.006)


@pytest.mark.parametrize("samples", [[], [0.0, 0.0], [0.1, float("nan")], [float("inf")]])
def test_empty_silent_or_infinite_sound_is_reported(samples: list[float]) -> None:
    with pytest.raises(NoVoice, match="no sound"):
        finish_clip(np.array(samples), 8000, [])


def test_spans_by_letters_are_in_proportion() -> None:
    """Three letters and five, each with one more for the gap: 4 and 6 tenths of the time."""
    spans = spans_by_letters([Word(say="abc"), Word(say="abcde")], 1.0, 2.0)
    assert [say for say, _, _ in spans] == ["abc", "abcde"]
    assert [edge for _, *edges in spans for edge in edges] == pytest.approx([1.0, 1.4, 1.4, 2.0])
