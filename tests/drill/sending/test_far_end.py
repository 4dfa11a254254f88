"""A take at the far end: less power leaves less of it, and so does a worse voice."""

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from scipy.signal import butter, lfilter

from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.radio.presets import load_preset
from drill.sending.far_end import simulate_far_ends
from drill.sending.prompts import compose_prompt
from drill.voices.operators import find_operator
from tests.drill.sending.takes import own_station
from tests.tools.defects import DEFECTS, record_in_room, spoil_take

PROMPT = compose_prompt("call", own_station(), 2)


@pytest.fixture(scope="module")
def clean_clip() -> Clip:
    """Return a clean take by the operator that takes are compared with."""
    return spoil_take(PROMPT, find_operator("meadow"), DEFECTS["none"], PROMPT.seed).clip


def test_less_power_leaves_less_and_the_reference_equals_itself(clean_clip: Clip) -> None:
    far = simulate_far_ends(clean_clip, PROMPT, Conditions(), path_snr_db=12.0, seed=1)
    assert [end.watts for end in far.ends] == [100, 20, 5]
    assert [end.snr_db for end in far.ends] == pytest.approx([12, 5.01, -1.01], abs=0.01)
    indices = [end.index for end in far.ends]
    assert indices == sorted(indices, reverse=True)
    assert far.behind_db == pytest.approx(0, abs=1.5)
    correlation = far.ends[-1].correlation
    assert correlation.bands[0][0] >= 300
    assert correlation.bands[-1][0] <= 2700
    assert all(-1 <= value <= 1 for _, value in (*correlation.bands, *correlation.times))


def test_a_muffled_voice_falls_behind(clean_clip: Clip) -> None:
    """18 dB per octave less treble above 800 Hz: less of the envelope stays above the noise."""
    b, a = butter(3, 800, fs=clean_clip.rate_hz)
    muffled = replace(clean_clip, samples=lfilter(b, a, clean_clip.samples).astype(np.float32))
    far = simulate_far_ends(muffled, PROMPT, Conditions(), path_snr_db=12.0, seed=1)
    assert far.ends[1].index < far.ends[1].reference_index - 0.02


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
    assert far.behind_db is None or abs(far.behind_db) < 10
