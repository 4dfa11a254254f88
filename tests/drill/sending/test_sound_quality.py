"""Figures of a take's sound, measured on signals with known levels."""

from dataclasses import replace

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.core.models import Clip, Samples
from drill.recogniser import RecognisedWord
from drill.sending.sound_quality import check_take_clip, measure_sound_quality


def sines(*parts: tuple[float, float], seconds: float = 4.0, rate_hz: int = 16_000) -> Clip:
    """Return sines, each given by frequency in Hz and level in dB; the first is the voice.

    The first sine is on only in the middle half.
    """
    time_s = np.arange(round(seconds * rate_hz)) / rate_hz
    middle = (time_s > seconds / 4) & (time_s < 3 * seconds / 4)
    samples = np.zeros(len(time_s))
    for index, (frequency_hz, level_db) in enumerate(parts):
        wave = np.sqrt(2) * 10 ** (level_db / 20) * np.sin(2 * np.pi * frequency_hz * time_s)
        samples += wave * middle if index == 0 else wave
    return Clip(samples=samples.astype(np.float32), rate_hz=rate_hz)


def add_noise(clip: Clip, amplitude: float, seed: int) -> Clip:
    noise = amplitude * np.random.default_rng(seed).standard_normal(len(clip.samples))
    return replace(clip, samples=(clip.samples + noise).astype(np.float32))


def word(start_s: float, end_s: float) -> RecognisedWord:
    return RecognisedWord(say="alfa", start_s=start_s, end_s=end_s, confidence=1.0)


MIDDLE = (word(1.0, 3.0),)


@pytest.mark.parametrize("rate_hz", [16_000, 48_000])
@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
def test_hum_and_noise_are_measured(mains_hz: float, rate_hz: int) -> None:
    """The expected levels are those with which the sines were made."""
    clip = sines((1000, -20), (mains_hz, -45), (2 * mains_hz, -48), rate_hz=rate_hz)
    sound = measure_sound_quality(add_noise(clip, 1e-4, seed=2), MIDDLE)
    assert sound.mains_hz == mains_hz
    assert sound.hum_to_speech_db is not None
    assert sound.speech_to_noise_db is not None
    hum_db = 10 * np.log10(10**-4.5 + 10**-4.8)
    assert sound.hum_to_speech_db + sound.level_db == pytest.approx(hum_db, abs=0.3)
    assert sound.speech_to_noise_db == pytest.approx(sound.level_db + 80, abs=0.5)


@pytest.mark.parametrize("steady_hz", [None, 73.0, 440.0])
def test_other_steady_sounds_are_noise(steady_hz: float | None) -> None:
    """440 Hz is near a harmonic of 60 Hz, so it may count as hum."""
    clip = sines((1000, -20), *([(steady_hz, -50)] if steady_hz else []))
    sound = measure_sound_quality(add_noise(clip, 3e-3, seed=3), MIDDLE)
    assert sound.hum_to_speech_db is None or steady_hz == 440.0
    noise_power = 9e-6 + (1e-5 if steady_hz else 0)
    expected_db = sound.level_db - 10 * np.log10(noise_power)
    assert sound.speech_to_noise_db == pytest.approx(expected_db, abs=0.7)


def test_a_clipped_sine_has_flat_tops_and_a_clean_one_has_not() -> None:
    clean = sines((300, -6))
    assert measure_sound_quality(clean, MIDDLE).clipped_share < 0.06
    clipped = replace(clean, samples=np.clip(clean.samples, -0.3, 0.3))
    assert measure_sound_quality(clipped, MIDDLE).clipped_share > 0.2


def test_the_balance_is_that_of_the_sines() -> None:
    both = sines((500, -20), (2000, -32))
    clip = replace(both, samples=both.samples[20_000:44_000])
    sound = measure_sound_quality(clip, (word(0.0, 4.0),))
    assert sound.treble_to_bass_db == pytest.approx(-12, abs=0.5)
    assert sound.passband_share == pytest.approx(1, abs=0.02)


@pytest.mark.parametrize(
    ("samples", "message"),
    [
        (np.zeros(16_000, np.float32), "silent"),
        (np.ones(160, np.float32), "lasts 0.01 s"),
        (np.ones(16_000 * 61, np.float32), "at most 60"),
    ],
    ids=["silent", "short", "long"],
)
def test_an_unusable_take_is_refused(samples: Samples, message: str) -> None:
    with pytest.raises(UserError, match=message):
        check_take_clip(Clip(samples=samples, rate_hz=16_000))
