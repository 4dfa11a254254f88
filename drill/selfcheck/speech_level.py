"""Check of the active speech level against the ITU's reference program."""

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from drill.radio.levels import speech_level
from drill.selfcheck.figures import CheckedFigure

Gate = Callable[[NDArray[np.float64]], NDArray[np.bool_]]
ACTLEV_LEVELS: dict[str, tuple[Gate, float]] = {
    "sine": (lambda t: t >= 0, -15.039),
    "half a second out of each second": (lambda t: t % 1 < 0.5, -16.999),
    "half a second out of two": (lambda t: t % 2 < 0.5, -16.999),
    "short gaps": (lambda t: t % 0.3 < 0.15, -17.998),
}
"""Gate as a function of time, and the active level in dB that actlev prints for 0.25 sin(2 pi 1000
t) so gated."""


def check_speech_level() -> Iterator[CheckedFigure]:
    """Measure the active level of gated sines at several sampling rates."""
    worst_db = 0.0
    for rate_hz in (8_000, 16_000, 22_050, 44_100, 48_000):
        time = np.arange(8 * rate_hz) / rate_hz
        for gate, reference_db in ACTLEV_LEVELS.values():
            signal = 0.25 * np.sin(2 * np.pi * 1000 * time) * gate(time)
            error_db = abs(speech_level(signal, rate_hz).active_db - reference_db)
            worst_db = max(worst_db, error_db)
    yield CheckedFigure(
        quantity="active speech level, largest error, 4 signals at 8 to 48 kHz",
        value=worst_db,
        low=0,
        high=0.1,
        unit="dB",
        source="ITU-T P.56 method B; figures of ITU-T G.191 actlev",
    )
