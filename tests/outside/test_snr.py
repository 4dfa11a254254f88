"""The delivered SNR is the requested one, for every voice, receiver and kind of noise.

Speech and noise pass the channel separately and are measured after the receiver's filter: the
speech by its active level (ITU-T P.56, checked in test_p56), the noise by its power density with
SciPy's Welch estimate, times 3000 Hz (the bandwidth of ITU-R F.339-8, Table 1). Neither uses the
product's own scaling.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import welch

from drill import voices
from drill.core.conditions import Conditions, Noise, Transmitter
from drill.core.models import Clip, Operator
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ
from drill.radio.channel import Channel
from drill.radio.filters import ComplexArray
from drill.radio.levels import speech_level
from drill.radio.neighbours import tune
from drill.radio.presets import parse_receiver, receiver_names
from drill.radio.transmitter import transmit
from drill.voices.people.roster import ROSTER
from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.message import Word

SEED = 11


def linear_output(conditions: Conditions, signal: ComplexArray) -> NDArray[np.float64]:
    """Return the output of the receiver's filter, before AGC."""
    channel = Channel(conditions, SEED, linear=True)
    return np.concatenate([channel.process(signal), channel.finish()]).astype(np.float64)


def silence(seconds: float) -> ComplexArray:
    return np.zeros(round(seconds * BASEBAND_RATE_HZ), np.complex64)


def noise_density(conditions: Conditions) -> float:
    """Return the power per hertz in the middle of the passband, measured over a minute."""
    noise = linear_output(conditions, silence(60.0))
    frequency, power = welch(noise, AUDIO_RATE_HZ, nperseg=1024)
    low, high = conditions.receiver.low_hz + 150, conditions.receiver.high_hz - 150
    return float(np.mean(power[(frequency > low) & (frequency < high)]))


def spoken_alphabet(operator: Operator) -> Clip:
    words = tuple(Word(say=word.lower(), pause=",") for word in ITU_CODE_WORDS.values())
    return voices.speak(words, operator, 1)


def delivered_snr_db(conditions: Conditions, clip: Clip) -> float:
    noiseless = Conditions(snr_db=None, transmitter=conditions.transmitter)
    speech = linear_output(noiseless, tune(transmit(clip, conditions.transmitter), 0.0))
    speech_db = speech_level(speech, AUDIO_RATE_HZ, silence_follows=True).active_db
    return speech_db - 10 * float(np.log10(noise_density(conditions) * 3000))


@pytest.mark.parametrize(
    "operator",
    [
        pytest.param(operator, id=operator.name, marks=() if index % 12 == 0 else pytest.mark.slow)
        for index, operator in enumerate(ROSTER[::3])
    ],
)
def test_every_voice_has_the_requested_snr(operator: Operator) -> None:
    snr_db = delivered_snr_db(Conditions(snr_db=-3.0), spoken_alphabet(operator))
    assert snr_db == pytest.approx(-3, abs=0.1)


@pytest.mark.parametrize("snr_db", [-20.0, -6.0, 0.0, 15.0, 40.0])
def test_every_snr_is_delivered(snr_db: float) -> None:
    conditions = Conditions(snr_db=snr_db)
    measured_db = delivered_snr_db(conditions, spoken_alphabet(ROSTER[0]))
    assert measured_db == pytest.approx(snr_db, abs=0.1)


@pytest.mark.parametrize("name", receiver_names())
def test_the_receiver_does_not_change_the_snr(name: str) -> None:
    """A narrow filter removes noise; the density, and so the SNR in 3 kHz, stays the same."""
    conditions = Conditions(snr_db=0.0, receiver=parse_receiver(name))
    snr_db = delivered_snr_db(conditions, spoken_alphabet(ROSTER[0]))
    assert snr_db == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("processing", ["compressed", "clipped"])
def test_processing_raises_the_snr_by_its_stated_gain(processing: str) -> None:
    transmitter = Transmitter(processing=processing)
    clip = spoken_alphabet(ROSTER[0])
    gain_db = transmit(clip, transmitter).level_db
    assert gain_db > 1
    snr_db = delivered_snr_db(Conditions(snr_db=0.0, transmitter=transmitter), clip)
    assert snr_db == pytest.approx(gain_db, abs=0.1)


@pytest.mark.slow
@pytest.mark.parametrize("vd_db", [None, 3.0, 6.0])
def test_every_kind_of_noise_has_the_same_power(vd_db: float | None) -> None:
    """Compared with Gaussian noise. One hour, because the power of static converges slowly."""
    channel = Channel(Conditions(snr_db=0.0, noise=Noise(vd_db=vd_db)), SEED, linear=True)
    minute = silence(60.0)
    powers = [np.mean(channel.process(minute).astype(np.float64) ** 2) for _ in range(60)]
    gaussian = linear_output(Conditions(snr_db=0.0), silence(600.0))
    ratio_db = 10 * np.log10(np.mean(powers) / np.mean(gaussian**2))
    assert ratio_db == pytest.approx(0, abs=0.1)


def test_mean_power_instead_of_active_level_would_fail() -> None:
    """Silence around the voice lowers the mean square: the comparison of SNRs can fail."""
    emission = transmit(spoken_alphabet(ROSTER[0]), Transmitter())
    silence_s = 0.2 * len(emission.samples) / emission.rate_hz
    signal = np.concatenate([tune(emission, 0.0), silence(silence_s)])
    speech = linear_output(Conditions(snr_db=None), signal)
    noise_power = noise_density(Conditions(snr_db=0.0)) * 3000
    assert 10 * np.log10(np.mean(speech**2) / noise_power) < -0.5


def test_pauses_do_not_change_the_snr() -> None:
    clip = spoken_alphabet(ROSTER[0])
    padded = Clip(
        samples=np.pad(clip.samples, 3 * clip.rate_hz), rate_hz=clip.rate_hz, words=clip.words
    )
    assert delivered_snr_db(Conditions(snr_db=0.0), padded) == pytest.approx(0.0, abs=0.1)


def test_filtered_noise_is_gaussian() -> None:
    """SciPy's excess kurtosis, which is 0 for a Gaussian."""
    from scipy.stats import kurtosis  # slow to import (0.5 s)

    noise = linear_output(Conditions(snr_db=0.0), silence(60.0))
    assert abs(float(kurtosis(noise))) < 0.03
