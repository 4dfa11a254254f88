"""Word times of the system's voices are estimated from silences and letters."""

import numpy as np

from drill.voices.engines.system.word_times import estimate_word_spans
from phonetics.message import Word


def test_the_longest_silence_is_assumed_to_be_the_pause() -> None:
    """Noise of 1 s and 0.5 s with 0.3 s of silence in between: two words and one."""
    noise = np.random.default_rng(0).standard_normal(16_000).astype(np.float32)
    sound = np.concatenate((noise[:8000], np.zeros(2400, np.float32), noise[:4000]))
    words = [Word(say="abc"), Word(say="abc", pause=","), Word(say="abc")]
    spans = estimate_word_spans(words, sound, 8000)
    edges = [round(edge, 2) for _, start, end in spans for edge in (start, end)]
    assert edges == [0, 0.5, 0.5, 1, 1.3, 1.8]
