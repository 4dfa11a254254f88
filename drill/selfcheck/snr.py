"""Check of the delivered SNR, with every receiver and with static."""

from collections.abc import Iterator

import numpy as np

from drill.core.conditions import Conditions, Noise, Transmitter
from drill.radio import AUDIO_RATE_HZ
from drill.radio.channel import Channel
from drill.radio.filters import noise_bandwidth_hz
from drill.radio.levels import decibels, speech_level
from drill.radio.neighbours import tune
from drill.radio.presets import parse_receiver, receiver_names
from drill.radio.receiver import receiver_passband
from drill.radio.transmitter import transmit
from drill.selfcheck.figures import CheckedFigure
from drill.selfcheck.signals import CHECK_SEED, linear_output, silence, spoken_alphabet


def check_snr() -> Iterator[CheckedFigure]:
    """Measure speech and noise separately after the receiver's filter, for an SNR of -3 dB."""
    signal = tune(transmit(spoken_alphabet(), Transmitter()), 0.0)
    wide = Conditions(snr_db=None, receiver=parse_receiver("wide"))
    speech = linear_output(wide, signal)
    speech_db = speech_level(speech, AUDIO_RATE_HZ, silence_follows=True).active_db
    for name in receiver_names():
        conditions = Conditions(snr_db=-3.0, receiver=parse_receiver(name))
        density = measured_noise_density(conditions, 300)
        yield _snr_figure(f"SNR of -3 dB, receiver {name}", speech_db, density)
    yield CheckedFigure(
        quantity="SNR of -3 dB, relative to the noise in 1 Hz",
        value=speech_db - decibels(density),
        low=31.67,
        high=31.87,
        unit="dB-Hz",
        source="10 lg 3000 = 34.771",
    )
    for vd_db, seconds in ((3.0, 3600), (6.0, 7200)):
        conditions = Conditions(snr_db=-3.0, noise=Noise(vd_db=vd_db))
        density = measured_noise_density(conditions, seconds)
        quantity = f"SNR of -3 dB, static of Vd {vd_db:g} dB, {seconds / 3600:g} h"
        yield _snr_figure(quantity, speech_db, density)


def _snr_figure(quantity: str, speech_db: float, density: float) -> CheckedFigure:
    return CheckedFigure(
        quantity=quantity,
        value=speech_db - decibels(density * 3000),
        low=-3.1,
        high=-2.9,
        unit="dB",
        source="SNR of ITU-R F.339-8 in 3 kHz; level by ITU-T P.56",
    )


def measured_noise_density(conditions: Conditions, seconds: float) -> float:
    """Return N0 as measured after the receiver's filter."""
    channel = Channel(conditions, CHECK_SEED, linear=True)
    minute = silence(60)  # several hours in one array would not fit into memory
    powers = [
        float(np.mean(channel.process(minute).astype(np.float64) ** 2))
        for _ in range(round(seconds / 60))
    ]
    return float(np.mean(powers)) / noise_bandwidth_hz(receiver_passband(conditions.receiver))
