"""What raw sound goes through: bent, cut, its words' times put in order."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import NoVoice
from drill.voices.effects.finish import finish
from drill.voices.engines.natural import bend
from drill.voices.engines.system.engine import estimated_spans
from drill.voices.people.roster import operator
from phonetics.message import Word


class TestBend:
    def test_the_resonances_move_by_the_tract(self) -> None:
        """A peak at bin 100 of a flat grid stands at bin 90 after tract 0.9."""
        grid = np.zeros((601, 3), np.float32)
        grid[100] = 1
        assert bend._warp(grid, 0.9)[:, 0].argmax() == 90
        assert bend._warp(grid, 1.0) is grid

    def test_melody_spreads_the_pitch_on_a_log_axis(self) -> None:
        curve = np.array([0, 100, 200, 400], np.float32)
        person = replace(operator("copper"), pitch_hz=200.0, melody=0.5)
        bent = bend._bend_pitch(curve, person)
        assert bent == pytest.approx([0, 200 / 2**0.5, 200, 200 * 2**0.5], rel=1e-5)


class TestFinish:
    @given(
        spans=st.lists(st.tuples(st.floats(-1, 5), st.floats(-1, 5)), max_size=12),
        seconds=st.floats(0.05, 3),
    )
    def test_times_are_put_in_order(self, spans: list[tuple[float, float]], seconds: float) -> None:
        sound = np.sin(np.arange(int(8000 * seconds)))
        clip = finish(sound, 8000, [("x", a, b) for a, b in spans])
        edges = [edge for word in clip.words for edge in (word.start_s, word.end_s)]
        assert edges == sorted(edges)
        assert len(clip.words) == len(spans)
        assert all(word.start_s < word.end_s for word in clip.words)
        assert not edges or (edges[0] >= 0 and edges[-1] <= clip.seconds + 1e-9)

    @pytest.mark.parametrize("bad", [[], [0.0, 0.0], [0.1, float("nan")], [float("inf")]])
    def test_no_sound_is_told(self, bad: list[float]) -> None:
        with pytest.raises(NoVoice, match="no sound"):
            finish(np.array(bad), 8000, [])

    def test_the_guess_finds_the_pause(self) -> None:
        """Noise of 1 s and 0.5 s with 0.3 s of silence between: two words and one."""
        noise = np.random.default_rng(0).standard_normal(16_000).astype(np.float32)
        sound = np.concatenate((noise[:8000], np.zeros(2400, np.float32), noise[:4000]))
        said = [Word(say="abc"), Word(say="abc", pause=","), Word(say="abc")]
        spans = estimated_spans(said, sound, 8000)
        assert [round(edge, 2) for _, a, b in spans for edge in (a, b)] == [
            0,
            0.5,
            0.5,
            1,
            1.3,
            1.8,
        ]
