"""Checks of the receiver: frequency response of the filter, and behaviour of the AGC over time."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Conditions
from drill.radio import AUDIO_RATE_HZ
from drill.radio.levels import decibels
from drill.radio.receiver import AGC_TARGET_DB, AGC_TIMING, receiver_agc
from drill.selfcheck.figures import CheckedFigure
from drill.selfcheck.signals import carrier, linear_output

PASSBAND_HZ = (280.0, 500.0, 1000.0, 1500.0, 2000.0, 2720.0)
STOP_BAND_HZ = (-400.0, -200.0, 0.0, 100.0, 2900.0, 3100.0, 3300.0)


def check_filter() -> Iterator[CheckedFigure]:
    """Measure the gain of the usual receiver's filter with tones."""
    ripple_db = max(abs(filter_gain_db(frequency)) for frequency in PASSBAND_HZ)
    leakage_db = max(filter_gain_db(frequency) for frequency in STOP_BAND_HZ)
    for quantity, value, low, high in (
        ("filter, largest deviation from 280 to 2720 Hz", ripple_db, 0, 0.05),
        ("filter, gain at 200 Hz", filter_gain_db(200), -6.2, -5.8),
        ("filter, gain at 2800 Hz", filter_gain_db(2800), -6.2, -5.8),
        ("filter, highest gain outside 120 to 2880 Hz", leakage_db, -200, -60),
    ):
        yield CheckedFigure(
            quantity=quantity,
            value=value,
            low=low,
            high=high,
            unit="dB",
            source="the filter's design: 200 to 2800 Hz, transitions of 150 Hz",
        )


def filter_gain_db(audio_hz: float) -> float:
    """Return the gain of the usual receiver's filter for a tone, at least -150 dB."""
    audio = linear_output(Conditions(snr_db=None), carrier(audio_hz, 2)).astype(np.float64)
    middle = audio[AUDIO_RATE_HZ // 2 : -AUDIO_RATE_HZ // 2]
    return decibels(float(np.mean(middle**2)) + 1e-15)


def check_agc() -> Iterator[CheckedFigure]:
    """Measure steady state, attack, hold and decay of the medium AGC on stepped levels."""

    def figure(quantity: str, value: float, low: float, high: float, unit: str) -> CheckedFigure:
        source = "the AGC's stated times; common practice, no source"
        return CheckedFigure(
            quantity=quantity, value=value, low=low, high=high, unit=unit, source=source
        )

    second = AUDIO_RATE_HZ
    levels_db = (-20.0, 0.0, -40.0)
    gain_db = agc_gain_db(levels_db, 3.0)
    settled_db = [float(gain_db[3 * (n + 1) * second - second // 10]) for n in range(3)]
    error_db = max(
        abs(gain + level - AGC_TARGET_DB) for gain, level in zip(settled_db, levels_db, strict=True)
    )
    yield figure("AGC, settled output relative to target, -40 to 0 dB", error_db, 0, 0.1, "dB")
    attack = gain_db[2 * second : 4 * second]
    moving = np.count_nonzero((attack > settled_db[1] + 0.5) & (attack < settled_db[0] - 0.5))
    yield figure("AGC, attack, all but 0.5 dB of 20 dB", moving / second * 1000, 2, 4, "ms")
    overshoot_db = float(np.max(attack[second:])) - settled_db[1]
    yield figure("AGC, overshoot after a step of 20 dB", overshoot_db, -0.1, 1.5, "dB")
    recovery = gain_db[6 * second :]
    timing = AGC_TIMING["medium"]
    hold_s = float(np.argmax(recovery > AGC_TARGET_DB + 0.1)) / second
    yield figure("AGC, hold", hold_s, timing.hold_s - 0.01, timing.hold_s + 0.01, "s")
    half_s = float(np.argmax(recovery > AGC_TARGET_DB + 20)) / second
    decay = 20 / (half_s - timing.hold_s)
    limits = (0.97 * timing.decay_db_per_s, 1.03 * timing.decay_db_per_s)
    yield figure("AGC, decay", decay, *limits, "dB/s")


def agc_gain_db(levels_db: tuple[float, ...], seconds: float) -> NDArray[np.float64]:
    """Return the gain of the medium AGC over time, for a constant signal that steps in level.

    seconds: duration of each level, a whole number of the AGC's blocks.
    """
    control = receiver_agc("medium", levels_db[0])
    count = round(seconds * AUDIO_RATE_HZ)
    signal = np.concatenate(
        [np.full(count, 10 ** (level_db / 20), np.float32) for level_db in levels_db]
    )
    output = np.concatenate([control.process(signal), control.finish()])
    return np.asarray(20 * np.log10(output / signal), np.float64)
