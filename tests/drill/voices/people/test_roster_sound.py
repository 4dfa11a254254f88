"""The operators: different people, each with the pitch asked for."""

from dataclasses import replace
from random import Random

import numpy as np
import pytest

from drill import voices
from drill.core.errors import UserError
from drill.core.models import Clip, Operator
from drill.voices.people.roster import ROSTER, draw_operator, operator
from drill.voices.people.styles import styled
from tests.drill.voices.common import OVER
from tests.tools.voice_gate import median_pitch_hz

ENGINES = ("natural", "formant")


@pytest.mark.parametrize("each", ROSTER[::4], ids=lambda each: each.name)
def test_the_pitch_is_the_one_asked_for(each: Operator) -> None:
    clip = voices.utter(OVER, each, 7)
    assert median_pitch_hz(clip) == pytest.approx(styled(each).pitch_hz, rel=0.10)


@pytest.mark.parametrize("pitch_hz", [80, 113, 160, 226, 320])
def test_the_pitch_meter_reads_a_known_pitch(pitch_hz: float) -> None:
    """A sum of ten harmonics has the pitch that its formula says."""
    time = np.arange(24_000) / 24_000
    tone = sum(np.sin(2 * np.pi * n * pitch_hz * time + n) / n for n in range(1, 11))
    clip = Clip(samples=(0.3 * np.asarray(tone)).astype(np.float32), rate_hz=24_000)
    assert median_pitch_hz(clip) == pytest.approx(pitch_hz, rel=0.01)


class TestRoster:
    @pytest.mark.parametrize("engine", ENGINES)
    def test_a_lower_voice_has_a_longer_tract(self, engine: str) -> None:
        people = [each for each in ROSTER if each.engine == engine]
        pitch = np.log([each.pitch_hz for each in people])
        assert np.corrcoef(pitch, [each.tract for each in people])[0, 1] > 0.9

    def test_pace_multiplies(self) -> None:
        quick = draw_operator(Random(1), ["slate"], pace=1.2)
        assert quick == replace(operator("slate"), pace=round(operator("slate").pace * 1.2, 3))

    @pytest.mark.parametrize(
        ("names", "pace", "told"),
        [
            (["nobody"], 1, "nobody"),
            ([], 1, "no operator"),
            (None, 3, "3"),
            (["slate"], 0.1, "0.1"),
        ],
    )
    def test_a_wrong_choice_is_told(self, names: list[str] | None, pace: float, told: str) -> None:
        with pytest.raises(UserError, match=told):
            draw_operator(Random(1), names, pace=pace)
