"""The parts of a received signal: they add up to the whole, and each has its stated level."""

from dataclasses import replace

import numpy as np
import pytest

from drill.core.conditions import Conditions, Fading, Neighbour
from drill.radio import AUDIO_RATE_HZ
from drill.radio.channel import LEAD_IN_S, Channel, neighbour_emissions, receive_over
from drill.radio.levels import speech_level
from drill.radio.neighbours import tune
from drill.radio.separate import separate
from drill.radio.transmitter import transmit
from tests.drill.radio.sounds import voice_like

FADING = Conditions(
    snr_db=-3.0,
    fading=Fading(delay_ms=1.0, spread_hz=0.5),
    neighbours=(Neighbour(offset_hz=900.0, snr_db=4.0),),
)


def test_the_parts_add_up_to_what_the_receiver_gets() -> None:
    voice, other = voice_like(), voice_like(seed=1)
    parts = separate(voice, FADING, 7, [other])
    channel = Channel(FADING, 7, neighbour_emissions(FADING, [other]), linear=True)
    whole = receive_over(channel, tune(transmit(voice, FADING.transmitter), 0.0))
    assert np.max(np.abs(parts.voice + parts.rest - whole)) < 1e-4


def test_noise_and_voice_have_their_levels() -> None:
    parts = separate(voice_like(), replace(FADING, neighbours=()), 7)
    assert parts.noise_db == pytest.approx(3.0)
    rest_db = 10 * np.log10(np.mean(parts.rest[1000:-1000] ** 2))
    assert rest_db == pytest.approx(3.0 - 0.7, abs=0.4)  # behind a filter of 2.6 kHz
    lead = round(LEAD_IN_S * AUDIO_RATE_HZ)
    spoken = parts.unfaded[lead : lead + 2 * AUDIO_RATE_HZ]
    level = speech_level(spoken, AUDIO_RATE_HZ, silence_follows=True)
    assert level.active_db == pytest.approx(0.0, abs=0.1)
    assert not np.allclose(parts.voice, parts.unfaded, atol=0.1)


def test_without_noise_only_the_voice_is_left() -> None:
    parts = separate(voice_like(), Conditions(snr_db=None), 7)
    assert parts.noise_db is None
    assert not parts.rest.any()
    assert np.array_equal(parts.voice, parts.unfaded)
