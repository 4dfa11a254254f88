"""The SNR that is delivered is the one that was asked for, for every voice.

Speech and noise are rendered apart and measured after the receiver: the speech by its active level
(ITU-T P.56, checked in test_p56), the noise by its power density with scipy's Welch estimate, times
3000 Hz (the bandwidth of ITU-R F.339-8, Table 1). Neither uses the product's own scaling.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import welch

from drill import voices
from drill.items import Clip, Conditions, Operator
from drill.radio import RADIO_RATE_HZ
from drill.radio.levels import speech_level
from drill.radio.path import Heard, travel
from drill.voices.roster import ROSTER
from phonetics.alphabets import ITU
from phonetics.message import Word


def density(noise: NDArray[np.float64]) -> float:
    """Return the power per hertz in the middle of the passband, shape of the estimate checked."""
    frequency, power = welch(noise, RADIO_RATE_HZ, nperseg=1024)
    inside = power[(frequency > 500) & (frequency < 2500)]
    return float(np.mean(inside))


def delivered_db(heard: Heard) -> float:
    speech = speech_level(heard.speech, RADIO_RATE_HZ).active_db
    return speech - 10 * float(np.log10(density(heard.noise) * 3000))


def alphabet(operator: Operator) -> Clip:
    words = tuple(Word(say=word.lower(), pause=",") for word in ITU.values())
    return voices.speak(words, operator, 1)


@pytest.mark.parametrize("operator", ROSTER, ids=lambda o: o.name)
def test_every_voice_arrives_at_the_snr_asked_for(operator: Operator) -> None:
    heard = travel(alphabet(operator), Conditions(snr_db=-3.0), 11)
    assert delivered_db(heard) == pytest.approx(-3.0, abs=0.1)


@pytest.mark.parametrize("snr_db", [-20.0, -6.0, 0.0, 15.0, 40.0])
def test_every_snr_is_met(snr_db: float) -> None:
    heard = travel(alphabet(ROSTER[0]), Conditions(snr_db=snr_db), 12)
    assert delivered_db(heard) == pytest.approx(snr_db, abs=0.1)


def test_mean_power_instead_of_active_level_would_miss() -> None:
    """With pauses between the words the plain mean square lies lower: the check can fail."""
    heard = travel(alphabet(ROSTER[0]), Conditions(snr_db=0.0), 13)
    mean_db = 10 * np.log10(np.mean(heard.speech**2) / (density(heard.noise) * 3000))
    assert mean_db < -0.3


def test_pauses_do_not_change_the_snr() -> None:
    clip = alphabet(ROSTER[0])
    padded = Clip(
        samples=np.pad(clip.samples, 3 * clip.rate_hz), rate_hz=clip.rate_hz, words=clip.words
    )
    heard = travel(padded, Conditions(snr_db=0.0), 14)
    assert delivered_db(heard) == pytest.approx(0.0, abs=0.1)


def test_noise_is_gaussian() -> None:
    """Kurtosis of a Gaussian is 0 over the normal; scipy's estimate."""
    from scipy.stats import kurtosis

    noise = travel(alphabet(ROSTER[0]), Conditions(snr_db=0.0), 15).noise[2000:-2000]
    assert abs(float(kurtosis(noise))) < 0.08
