"""A transmission has the stated active level, for every length, engine and kind of processing.

An independent meter (sv56_meter, ITU-T G.191) measures every emission as a real signal with a
second of silence before and after it. SciPy interpolates the emission; the carrier is so high that
products below the voice do not fold back.
"""

import math

import numpy as np
import pytest
from scipy.signal import resample_poly

from drill import voices
from drill.core.conditions import PROCESSING, Transmitter
from drill.core.models import Clip
from drill.items.plan import Plan, compose_item
from drill.radio.transmitter import Emission, transmit, transmit_neighbour
from tests.outside.sv56_meter import sv56_level_db
from tests.outside.test_p56 import ACTLEV, RATE_HZ, rounded_to_16_bit

PARTS = ("call", "exchange", "over")
RADIO_RATE_HZ = 32_000
CARRIER_HZ = 8_000.0
SIGNAL_PEAK = 0.3


@pytest.mark.parametrize("name", ACTLEV)
def test_the_meter_equals_the_itu_program(name: str) -> None:
    """The tolerance is the uncertainty of the program's bisection."""
    signal, level_db, _ = ACTLEV[name]
    assert sv56_level_db(rounded_to_16_bit(signal), RATE_HZ) == pytest.approx(level_db, abs=0.03)


def measured_level_db(emission: Emission) -> float:
    """Return the active level of an emission with silence around it."""
    padded = np.pad(emission.samples.astype(np.complex128), emission.rate_hz)
    fine = resample_poly(padded, RADIO_RATE_HZ // emission.rate_hz, 1)
    cycles = CARRIER_HZ / RADIO_RATE_HZ * np.arange(len(fine)) % 1.0
    radio = (fine * np.exp(2j * np.pi * cycles)).real
    scale = SIGNAL_PEAK / float(np.max(np.abs(radio)))
    return sv56_level_db(scale * radio, RADIO_RATE_HZ) - 20 * math.log10(scale)


def spoken_items(count: int) -> list[Clip]:
    """Return the voices of composed items of every length, by all engines of this computer."""
    clips = []
    for number in range(count):
        plan = Plan(seed=150, count=count, part=PARTS[number % len(PARTS)])
        item = compose_item(plan, number)
        clips.append(voices.speak(item.message.words, item.operator, item.seed))
    return clips


def level_errors_db(clips: list[Clip]) -> list[float]:
    errors = []
    for number, clip in enumerate(clips):
        transmitter = Transmitter(processing=PROCESSING[number // len(PARTS) % len(PROCESSING)])
        emission = transmit(clip, transmitter)
        errors.append(measured_level_db(emission) - emission.level_db)
    return errors


def check_errors(errors: list[float]) -> None:
    assert abs(float(np.mean(errors))) <= 0.03
    assert float(np.max(np.abs(errors))) <= 0.1


@pytest.mark.slow
def test_27_items_have_the_stated_level() -> None:
    check_errors(level_errors_db(spoken_items(27)))


@pytest.mark.slow
def test_300_items_have_the_stated_level() -> None:
    check_errors(level_errors_db(spoken_items(300)))


@pytest.mark.slow
@pytest.mark.parametrize("processing", PROCESSING)
@pytest.mark.parametrize("overdrive_db", [0.0, 12.0])
def test_a_neighbour_has_the_stated_level(processing: str, overdrive_db: float) -> None:
    """A neighbour's snr_db is that of its active level, whatever its processing and its drive."""
    transmitter = Transmitter(processing=processing, overdrive_db=overdrive_db)
    check_errors(
        [
            measured_level_db(transmit_neighbour(clip, transmitter, offset_hz))
            for clip in spoken_items(6)
            for offset_hz in (300.0, 4000.0)
        ]
    )
