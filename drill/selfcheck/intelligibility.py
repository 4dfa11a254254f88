"""Check that an independent index of intelligibility follows SNR and fading as expected."""

from collections.abc import Iterator

import numpy as np

from drill.core.conditions import Conditions, Transmitter
from drill.radio import AUDIO_RATE_HZ
from drill.radio.neighbours import tune
from drill.radio.presets import parse_fading
from drill.radio.transmitter import transmit
from drill.selfcheck.figures import CheckedFigure
from drill.selfcheck.signals import linear_output, spoken_alphabet

ESTOI_SOURCE = "ESTOI, Jensen and Taal 2016, package pystoi"


def check_intelligibility() -> Iterator[CheckedFigure]:
    """Measure ESTOI for rising SNR and for increasingly disturbed paths."""
    rising = [estoi(Conditions(snr_db=snr_db)) for snr_db in (-9.0, -3.0, 3.0, 9.0, 15.0)]
    yield CheckedFigure(
        quantity="ESTOI at -9, -3, 3, 9, 15 dB: smallest rise of a step",
        value=float(np.min(np.diff(rising))),
        low=0.03,
        high=1,
        unit="",
        source=ESTOI_SOURCE,
    )
    names = ("steady", "mid-disturbed", "low-disturbed", "high-disturbed")
    falling = [estoi(Conditions(snr_db=None, fading=parse_fading(name))) for name in names]
    yield CheckedFigure(
        quantity="ESTOI, steady to high-disturbed path: smallest fall",
        value=float(np.min(-np.diff(falling))),
        low=0.01,
        high=1,
        unit="",
        source=ESTOI_SOURCE,
    )


def estoi(conditions: Conditions) -> float:
    """Return ESTOI of speech through the linear channel, relative to no noise and no fading.

    Source: J. Jensen, C. Taal, An algorithm for predicting the intelligibility of speech masked by
    modulated noise maskers, IEEE/ACM Trans. Audio 24 (2016); package pystoi.
    """
    from pystoi import stoi

    signal = tune(transmit(spoken_alphabet(), Transmitter()), 0.0)
    clean = linear_output(Conditions(snr_db=None), signal)
    return float(stoi(clean, linear_output(conditions, signal), AUDIO_RATE_HZ, extended=True))
