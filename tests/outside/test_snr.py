"""The SNR that is delivered is the one that was asked for: every voice, receiver, noise.

Speech and noise go through the path apart and are measured after the receiver's filter: the speech
by its active level (ITU-T P.56, checked in test_p56), the noise by its power density with scipy's
Welch estimate, times 3000 Hz (the bandwidth of ITU-R F.339-8, Table 1). Neither uses the product's
own scaling.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import welch
from scipy.stats import kurtosis

from drill import voices
from drill.core.conditions import Conditions, Noise, Transmitter
from drill.core.models import Clip, Operator
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ
from drill.radio.channel import Channel
from drill.radio.filters import ComplexArray
from drill.radio.levels import speech_level
from drill.radio.presets import parse_receiver, receiver_names
from drill.radio.transmitter import transmit
from drill.voices.people.roster import ROSTER
from phonetics.alphabets import ITU
from phonetics.message import Word


def through(conditions: Conditions, signal: ComplexArray) -> NDArray[np.float64]:
    """Return what the receiver's filter gives, before AGC."""
    path = Channel(conditions, 11, linear=True)
    sound = np.concatenate([path.process(signal), path.finish()])
    return sound.astype(np.float64)


def density(conditions: Conditions, seconds: float = 60.0) -> float:
    """Return power per hertz in the middle of the passband."""
    noise = through(conditions, np.zeros(round(seconds * BASEBAND_RATE_HZ), np.complex64))
    frequency, power = welch(noise, AUDIO_RATE_HZ, nperseg=1024)
    low, high = conditions.receiver.low_hz + 150, conditions.receiver.high_hz - 150
    return float(np.mean(power[(frequency > low) & (frequency < high)]))


def alphabet(operator: Operator) -> Clip:
    words = tuple(Word(say=word.lower(), pause=",") for word in ITU.values())
    return voices.speak(words, operator, 1)


def delivered_db(conditions: Conditions, clip: Clip) -> float:
    alone = Conditions(snr_db=None, transmitter=conditions.transmitter)
    speech = through(alone, transmit(clip, conditions.transmitter).samples)
    level_db = speech_level(speech, AUDIO_RATE_HZ).active_db
    return level_db - 10 * float(np.log10(density(conditions) * 3000))


@pytest.mark.parametrize(
    "operator",
    [
        pytest.param(each, id=each.name, marks=() if place % 12 == 0 else pytest.mark.slow)
        for place, each in enumerate(ROSTER[::3])
    ],
)
def test_every_voice_arrives_at_the_snr_asked_for(operator: Operator) -> None:
    assert delivered_db(Conditions(snr_db=-3.0), alphabet(operator)) == pytest.approx(-3, abs=0.1)


@pytest.mark.parametrize("snr_db", [-20.0, -6.0, 0.0, 15.0, 40.0])
def test_every_snr_is_met(snr_db: float) -> None:
    wanted = Conditions(snr_db=snr_db)
    assert delivered_db(wanted, alphabet(ROSTER[0])) == pytest.approx(snr_db, abs=0.1)


@pytest.mark.parametrize("name", receiver_names())
def test_the_receiver_does_not_matter(name: str) -> None:
    """A narrow filter takes noise away; the density, and so the SNR in 3 kHz, stays."""
    wanted = Conditions(snr_db=0.0, receiver=parse_receiver(name))
    assert delivered_db(wanted, alphabet(ROSTER[0])) == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("processing", ["compressed", "clipped"])
def test_processing_adds_what_it_says(processing: str) -> None:
    transmitter = Transmitter(processing=processing)
    gained = transmit(alphabet(ROSTER[0]), transmitter).level_db
    assert gained > 1
    found = delivered_db(Conditions(snr_db=0.0, transmitter=transmitter), alphabet(ROSTER[0]))
    assert found == pytest.approx(gained, abs=0.1)


@pytest.mark.parametrize("vd_db", [None, 3.0, 6.0])
def test_every_noise_has_its_density(vd_db: float | None) -> None:
    """N0 x 3 kHz of 0 dB, or 31.77 dB-Hz below 3 dB: static converges slowly, hence the hour."""
    wanted = Conditions(snr_db=0.0, noise=Noise(vd_db=vd_db))
    path = Channel(wanted, 11, linear=True)
    minute = np.zeros(60 * BASEBAND_RATE_HZ, np.complex64)
    powers = [np.mean(path.process(minute).astype(np.float64) ** 2) for _ in range(60)]
    gaussian = through(Conditions(snr_db=0.0), np.zeros(600 * BASEBAND_RATE_HZ, np.complex64))
    found = 10 * np.log10(np.mean(powers) / np.mean(gaussian**2))
    assert found == pytest.approx(0, abs=0.1)


def test_mean_power_instead_of_active_level_would_miss() -> None:
    """With pauses between the words the plain mean square lies lower: the check can fail."""
    speech = through(Conditions(snr_db=None), transmit(alphabet(ROSTER[0]), Transmitter()).samples)
    mean_db = 10 * np.log10(np.mean(speech**2) / (density(Conditions(snr_db=0.0)) * 3000))
    assert mean_db < -0.2


def test_pauses_do_not_change_the_snr() -> None:
    clip = alphabet(ROSTER[0])
    padded = Clip(
        samples=np.pad(clip.samples, 3 * clip.rate_hz), rate_hz=clip.rate_hz, words=clip.words
    )
    assert delivered_db(Conditions(snr_db=0.0), padded) == pytest.approx(0.0, abs=0.1)


def test_noise_is_gaussian() -> None:
    """Kurtosis of a Gaussian is 0 over the normal; scipy's estimate."""
    noise = through(Conditions(snr_db=0.0), np.zeros(60 * BASEBAND_RATE_HZ, np.complex64))
    assert abs(float(kurtosis(noise))) < 0.03
