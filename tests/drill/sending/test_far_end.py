"""A take at the far end: less power or a worse voice makes it less intelligible."""

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from scipy.signal import butter, lfilter

from drill import voices
from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.radio.presets import load_preset
from drill.sending.far_end import (
    CHANNEL_DRAWS,
    WORDING_SD_DB,
    FarEnd,
    distance_behind,
    reference_operator,
    simulate_far_ends,
)
from drill.sending.intelligibility import EnvelopeCorrelation
from drill.sending.prompts import compose_prompt
from drill.voices.operators import find_operator
from tests.drill.sending.takes import own_station
from tests.tools.defects import DEFECTS, record_in_room, spoil_take

PROMPT = compose_prompt("call", own_station(), 2)


@pytest.fixture(scope="module")
def clean_clip() -> Clip:
    """Return a clean take by the operator that takes are compared with."""
    return spoil_take(PROMPT, find_operator("meadow"), DEFECTS["none"], PROMPT.seed).clip


def test_less_power_is_less_intelligible_and_the_reference_equals_itself(clean_clip: Clip) -> None:
    far = simulate_far_ends(clean_clip, PROMPT, Conditions(), path_snr_db=12.0, seed=1)
    assert [end.watts for end in far.ends] == [100, 20, 5]
    assert [end.snr_db for end in far.ends] == pytest.approx([12, 5.01, -1.01], abs=0.01)
    indices = [end.index for end in far.ends]
    assert indices == sorted(indices, reverse=True)
    assert far.behind_db is not None
    assert far.behind_db.low < 0 < far.behind_db.high
    correlation = far.ends[-1].correlation
    assert correlation.bands[0][0] >= 300
    assert correlation.bands[-1][0] <= 2700
    assert all(-1 <= value <= 1 for _, value in (*correlation.bands, *correlation.times))


def test_a_muffled_voice_is_worse(clean_clip: Clip) -> None:
    """Treble falls by 18 dB per octave above 800 Hz, so less of the envelope is above the noise."""
    b, a = butter(3, 800, fs=clean_clip.rate_hz)
    muffled = replace(clean_clip, samples=lfilter(b, a, clean_clip.samples).astype(np.float32))
    far = simulate_far_ends(muffled, PROMPT, Conditions(), path_snr_db=12.0, seed=1)
    assert far.ends[1].index < far.ends[1].reference_index - 0.02
    assert far.behind_db is not None
    assert far.behind_db.low > 0


def test_fading_conditions_are_simulated(clean_clip: Clip) -> None:
    far = simulate_far_ends(
        record_in_room(clean_clip, Random(1)),
        PROMPT,
        load_preset("usual-day").conditions,
        path_snr_db=12,
        seed=1,
        watts=(5,),
    )
    assert 0 < far.ends[0].index < 1
    assert far.behind_db is None or abs(far.behind_db.value) < 10


@pytest.mark.parametrize("conditions", ["plain", pytest.param("usual-day", marks=pytest.mark.slow)])
@pytest.mark.parametrize("silence_s", [(1.0, 0.0), (0.013, 2.0), (2.0, 2.0)])
def test_the_reference_equals_itself_whatever_silence_surrounds_it(
    conditions: str, silence_s: tuple[float, float]
) -> None:
    """Version 0.2.0 placed the reference up to 3 dB away from itself."""
    clip = voices.speak(PROMPT.words, reference_operator(), PROMPT.seed)
    parts = [np.zeros(round(seconds * clip.rate_hz), np.float32) for seconds in silence_s]
    take = Clip(samples=np.concatenate([parts[0], clip.samples, parts[1]]), rate_hz=clip.rate_hz)
    path = load_preset(conditions).conditions
    far = simulate_far_ends(take, PROMPT, path, path_snr_db=12, seed=1)
    assert far.behind_db is not None
    assert far.behind_db.value == pytest.approx(0, abs=0.05)
    assert far.behind_db.low < 0 < far.behind_db.high


def test_the_interval_combines_the_draws_and_the_variation_of_one_voice() -> None:
    def end(snr_db: float, reference: float, shifts: tuple[float, ...]) -> FarEnd:
        silence = Clip(samples=np.zeros(1, np.float32), rate_hz=8000)
        return FarEnd(
            watts=1.0,
            snr_db=snr_db,
            clip=silence,
            reference_clip=silence,
            indices=tuple(reference - shift for shift in shifts),
            reference_indices=(reference,) * len(shifts),
            correlation=EnvelopeCorrelation(bands=(), times=()),
        )

    # The reference rises by 0.05 per dB; in the five draws the take is 1, 2, 3, 4 and 5 dB worse.
    shifts = tuple(0.05 * n for n in range(1, CHANNEL_DRAWS + 1))
    ends = [end(0.0, 0.2, (0.0,) * 5), end(6.0, 0.5, shifts), end(12.0, 0.8, shifts)]
    interval = distance_behind([*ends[1:], replace(ends[0], indices=(0.1,) * 5)])
    assert interval is not None
    assert interval.value == pytest.approx(3)
    # Standard error of the mean of 1 to 5: sqrt(2.5 / 5) = 0.707; t with 4 degrees of freedom.
    expected = np.hypot(2.776 * 0.7071, 1.96 * WORDING_SD_DB)
    assert interval.high - interval.value == pytest.approx(expected, rel=1e-3)
    assert interval.value - interval.low == pytest.approx(expected, rel=1e-3)
    assert distance_behind(ends[::-1]) is not None
    assert distance_behind([end(0.0, 0.5, shifts), end(6.0, 0.4, shifts)]) is None
