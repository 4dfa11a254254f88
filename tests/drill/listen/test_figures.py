"""Figures of a received over: levels, and fading as it is in the audio."""

import numpy as np
import pytest

from drill.core.conditions import Conditions, Neighbour, Transmitter
from drill.core.models import Clip
from drill.listen.figures import block_levels_db, fading_curve_db, measure_audio
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ
from drill.radio.channel import Channel, simulate
from drill.radio.presets import parse_fading
from tests.drill.radio.sounds import voice_like


def test_the_fading_curve_is_the_fading_of_the_audio() -> None:
    """A carrier through the channel has the envelope that the curve shows."""
    conditions = Conditions(snr_db=None, fading=parse_fading("mid-disturbed"))
    carrier = np.full(10 * BASEBAND_RATE_HZ, np.sqrt(2), np.complex64)
    channel = Channel(conditions, 9, linear=True)
    audio = np.concatenate([channel.process(carrier), channel.finish()]).astype(np.float64)
    power = np.mean(audio[: len(audio) // 1600 * 1600].reshape(-1, 1600) ** 2, axis=1)
    curve_db = fading_curve_db(conditions, 9, 10.0).reshape(-1, 400)
    strong = curve_db.min(axis=1) > -15
    mean_db = 10 * np.log10(np.mean(10 ** (curve_db / 10), axis=1))
    assert np.max(np.abs(10 * np.log10(power) - mean_db)[strong][1:-1]) < 0.2


def test_block_levels_are_those_of_the_audio() -> None:
    time = np.arange(16_000) / AUDIO_RATE_HZ
    sine = (0.1 * np.sqrt(2) * np.sin(2 * np.pi * 1000 * time)).astype(np.float32)
    levels_db = block_levels_db(Clip(samples=sine, rate_hz=AUDIO_RATE_HZ))
    assert levels_db == pytest.approx(np.full(50, -20.0), abs=0.01)


def test_delivered_snr_and_levels_are_measured() -> None:
    conditions = Conditions(snr_db=3.0, transmitter=Transmitter(processing="clipped"))
    received = simulate(voice_like(), conditions, 1)
    figures = measure_audio(received, conditions, 1)
    assert figures.seconds == received.clip.seconds
    assert figures.processing_gain_db == received.emission.level_db > 1
    assert figures.snr_db == pytest.approx(3.0 + figures.processing_gain_db)
    assert figures.pep_over_speech_db == received.emission.peak_to_speech_db
    samples = received.clip.samples.astype(np.float64)
    assert figures.mean_db == pytest.approx(10 * np.log10(np.mean(samples**2)))
    assert figures.peak_db == pytest.approx(20 * np.log10(np.max(np.abs(samples))))
    low_db, middle_db, high_db = figures.level_quantiles_db
    assert low_db < middle_db < high_db < figures.peak_db
    assert (figures.fading_range_db, figures.weak_share) == (None, 0.0)


def test_fading_is_measured_over_the_whole_clip() -> None:
    conditions = Conditions(snr_db=3.0, fading=parse_fading("high-moderate"))
    received = simulate(voice_like(), conditions, 1)
    figures = measure_audio(received, conditions, 1)
    curve_db = fading_curve_db(conditions, 1, received.clip.seconds)
    assert figures.fading_range_db == (curve_db.min(), curve_db.max())
    assert figures.weak_share == np.mean(curve_db < -10) > 0


@pytest.mark.parametrize("fading", ["low-quiet", "mid-moderate", "2.5/0.1"])
def test_a_curve_of_slow_fading_begins_without_a_step(fading: str) -> None:
    """The second path arrives up to some milliseconds after the first one."""
    conditions = Conditions(fading=parse_fading(fading))
    for seed in range(5):
        start = 10 ** (fading_curve_db(conditions, seed, 1.0)[:80] / 20)
        assert np.max(np.abs(np.diff(start))) < 0.02


@pytest.mark.parametrize("processing", ["none", "compressed", "clipped"])
@pytest.mark.parametrize("overdrive_db", [0.0, 12.0])
def test_a_neighbours_measured_level_is_the_requested_one(
    processing: str, overdrive_db: float
) -> None:
    """On the frequency nearly all of it passes the filter; 2.2 kHz away a small part does."""
    neighbours = tuple(
        Neighbour(offset_hz=hertz, snr_db=10.0, processing=processing, overdrive_db=overdrive_db)
        for hertz in (0.0, 2200.0)
    )
    conditions = Conditions(neighbours=neighbours)
    received = simulate(voice_like(), conditions, 1, [voice_like(seed=3)] * 2)
    near, far = measure_audio(received, conditions, 1).neighbours
    assert near.requested_db == far.requested_db == 10.0
    assert (near.measured_db, far.measured_db) == pytest.approx((10.0, 10.0), abs=0.05)
    assert near.passband_db == pytest.approx(10.0, abs=0.3)
    assert far.passband_db < 5
