"""The voice of the wanted station and everything else as received, separated.

The channel is linear up to the AGC, so the received signal is the sum of both. The parts show
whether a word was hard because it faded, or because noise and other stations covered it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from drill.core.conditions import Conditions, Fading
from drill.core.models import Clip, Samples
from drill.radio.channel import Channel, neighbour_emissions, receive_over
from drill.radio.levels import REFERENCE_BANDWIDTH_HZ, decibels, noise_density
from drill.radio.neighbours import tune
from drill.radio.transmitter import transmit


@dataclass(frozen=True, kw_only=True, eq=False)
class SeparatedAudio:
    """The signals after the receiver's filter, before AGC and limiter.

    voice: of the wanted station, active speech level 0 dB before fading. unfaded: the same voice on
    a steady path. rest: noise, interference and other stations. All float32 at AUDIO_RATE_HZ,
    shape (n,), with the times of `drill.radio.channel.simulate`. noise_db: level of the noise in
    3 kHz; None without noise.
    """

    voice: Samples
    unfaded: Samples
    rest: Samples
    noise_db: float | None


def separate(
    voice: Clip, conditions: Conditions, seed: int, neighbours: Sequence[Clip] = ()
) -> SeparatedAudio:
    """Return the parts of the audio of `simulate`; arguments and errors are the same."""
    emission = transmit(voice, conditions.transmitter)
    signal = tune(emission, conditions.transmitter.off_frequency_hz)
    alone = replace(conditions, snr_db=None, neighbours=())
    steady = replace(alone, fading=Fading())
    others = neighbour_emissions(conditions, neighbours)
    noise_db = None
    if conditions.snr_db is not None:
        density = noise_density(conditions.snr_db, active_db=0.0)
        noise_db = decibels(density * REFERENCE_BANDWIDTH_HZ)
    return SeparatedAudio(
        voice=receive_over(Channel(alone, seed, linear=True), signal),
        unfaded=receive_over(Channel(steady, seed, linear=True), signal),
        rest=receive_over(Channel(conditions, seed, others, linear=True), np.zeros_like(signal)),
        noise_db=noise_db,
    )
