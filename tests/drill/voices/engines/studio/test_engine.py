"""Operators of the studio voice, and what pitch and formant scale do to the sound."""

from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest

from drill import voices
from drill.core.errors import UserError
from drill.core.models import Operator
from drill.core.paths import data_folder
from drill.voices.engines.studio.voice_files import STUDIO_PREFIX, find_voice, studio_voice_names
from drill.voices.operators import draw_operator, find_operator, find_operators
from drill.voices.people.roster import ROSTER, STUDIO_GROUP
from tests.drill.voices.common import OVER, SHORT, missing_reason
from tests.tools.pitch import median_pitch_hz

needs_studio = pytest.mark.skipif(
    bool(missing_reason("studio")), reason="the extra `studio` is not installed"
)
OPERATORS = find_operators([STUDIO_GROUP])
POINTS, MAX_SHIFT = 400, 40


class TestOperators:
    def test_their_names_are_unique_and_none_starts_with_another(self) -> None:
        names = [operator.name for operator in (*OPERATORS, *ROSTER)]
        assert len(set(names)) == len(names)
        assert len(OPERATORS) >= 35
        assert {operator.engine for operator in OPERATORS} == {"studio"}
        for operator in OPERATORS:
            others = [name for name in names if name != operator.name]
            assert not [name for name in others if name.startswith(operator.name)]

    def test_every_english_voice_has_an_operator(self) -> None:
        used = {operator.voice for operator in OPERATORS}
        english = {name for name in studio_voice_names() if name[0] in "ab"}
        assert english <= used <= set(studio_voice_names())

    def test_they_are_found_by_name_and_drawn_only_if_named(self) -> None:
        for operator in OPERATORS:
            assert find_operator(operator.name) == operator
        engines = {draw_operator(Random(seed), None).engine for seed in range(200)}
        assert "studio" not in engines


@needs_studio
@pytest.mark.slow
def test_a_voice_of_the_user_speaks(home: Path) -> None:
    folder = data_folder() / "voices"
    folder.mkdir(parents=True)
    vector, _ = find_voice("am_onyx")
    (folder / "mine.bin").write_bytes(vector.astype("<f4").tobytes())
    operator = find_operator(STUDIO_PREFIX + "mine")
    clip = voices.find_engine("studio").synthesise(OVER, operator, 1)
    assert median_pitch_hz(clip) < 110  # the copied voice is a low one


@needs_studio
@pytest.mark.slow
@pytest.mark.parametrize("operator", OPERATORS, ids=lambda operator: operator.name)
def test_the_pitch_is_that_of_the_operator(operator: Operator) -> None:
    clip = voices.find_engine("studio").synthesise(OVER, operator, 7)
    assert median_pitch_hz(clip) == pytest.approx(operator.pitch_hz, rel=0.10)


@needs_studio
class TestFormantScale:
    @pytest.mark.slow
    @pytest.mark.parametrize("factor", [0.88, 1.14])
    @pytest.mark.parametrize("name", ["thunder", "dawn"])
    def test_it_keeps_the_requested_pitch(self, name: str, factor: float) -> None:
        plain = find_operator(name)
        changed = replace(plain, pitch_hz=plain.pitch_hz * factor, formant_scale=1 / factor)
        clip = voices.find_engine("studio").synthesise(OVER, changed, 1)
        assert median_pitch_hz(clip) == pytest.approx(changed.pitch_hz, rel=0.10)

    @pytest.mark.slow
    @pytest.mark.parametrize("scale", [0.9, 1.1])
    def test_it_moves_the_formants_and_hardly_the_length(self, scale: float) -> None:
        """The long-term spectrum moves by the scale; durations are multiples of 25 ms."""
        operator = find_operator("squall")
        plain, scaled = (
            voices.find_engine("studio").synthesise(OVER, replace(operator, formant_scale=x), 1)
            for x in (1.0, scale)
        )
        assert scaled.seconds == pytest.approx(plain.seconds, rel=0.08)
        assert spectral_shift(plain.samples, scaled.samples) == pytest.approx(scale, abs=0.02)

    @pytest.mark.parametrize("scale", [0.5, 1.5])
    def test_a_value_out_of_range_is_refused(self, scale: float) -> None:
        operator = replace(find_operator("squall"), formant_scale=scale)
        with pytest.raises(UserError, match=f"formant scale {scale:g} is out of range"):
            voices.find_engine("studio").synthesise(SHORT, operator, 1)


def spectral_shift(plain: np.ndarray, scaled: np.ndarray) -> float:
    """Return the factor by which the second spectrum is higher, 300 to 6000 Hz, at 24 kHz."""
    first, second = smooth_spectrum_db(plain), smooth_spectrum_db(scaled)

    def correlation(shift: int) -> float:
        moved = second[MAX_SHIFT + shift : POINTS - MAX_SHIFT + shift]
        return float(np.corrcoef(first[MAX_SHIFT:-MAX_SHIFT], moved)[0, 1])

    best = max(range(-MAX_SHIFT, MAX_SHIFT + 1), key=correlation)
    return float(np.exp(best * np.log(6000 / 300) / (POINTS - 1)))


def smooth_spectrum_db(samples: np.ndarray) -> np.ndarray:
    """Return the long-term spectrum on a logarithmic axis, smoothed so that harmonics merge."""
    frames = np.lib.stride_tricks.sliding_window_view(samples.astype(float), 2048)[::512]
    power = np.mean(np.abs(np.fft.rfft(frames * np.hanning(2048))) ** 2, axis=0)
    smooth = np.convolve(10 * np.log10(power), np.ones(15) / 15, "same")
    points_hz = np.geomspace(300, 6000, POINTS)
    return np.asarray(np.interp(points_hz, np.fft.rfftfreq(2048, 1 / 24_000), smooth))
