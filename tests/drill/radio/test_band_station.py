"""A station of a band: overs at absolute times, and fading that goes on while unheard."""

import numpy as np
import pytest

from drill.core.arrays import FloatArray
from drill.core.conditions import Fading
from drill.radio.band_station import BandStation
from drill.radio.filters import ComplexArray

MODERATE = Fading(delay_ms=1.0, spread_hz=0.5)


def flat(at_s: FloatArray) -> FloatArray:
    return np.zeros_like(at_s)


def tone(count: int) -> ComplexArray:
    return np.asarray(np.exp(2j * np.pi * 0.02 * np.arange(count)), np.complex64)


def station(fading: Fading = MODERATE) -> BandStation:
    created = BandStation(1000.0, fading, 7, flat)
    created.send(40_000, tone(30_000))
    created.send(100_000, tone(5_000))
    return created


def test_a_silent_station_gives_no_signal() -> None:
    quiet = station()
    assert quiet.take(0, 30_000) is None
    assert quiet.take(80_000, 10_000) is None


@pytest.mark.parametrize("fading", [Fading(), MODERATE, Fading(delay_ms=0.7, spread_hz=5.0)])
def test_the_signal_does_not_depend_on_earlier_requests(fading: Fading) -> None:
    whole = station(fading).take(0, 110_000)
    late = station(fading)
    late.take(10_000, 4000)
    part = late.take(60_000, 8000)
    assert whole is not None and part is not None
    assert np.array_equal(part, whole[60_000:68_000])


def test_chunks_of_any_size_give_the_same() -> None:
    whole = station().take(30_000, 50_000)
    chunked, position, parts = station(), 30_000, []
    for count in (512, 4, 20_000, 17_484, 12_000):
        part = chunked.take(position, count)
        parts.append(np.zeros(count, np.complex64) if part is None else part)
        position += count
    assert whole is not None
    assert np.allclose(np.concatenate(parts), whole, atol=1e-6)


def test_the_level_follows_time() -> None:
    rising = BandStation(0.0, Fading(), 1, lambda at_s: 10 * at_s)
    rising.send(0, np.ones(64_000, np.complex64))
    signal = rising.take(0, 64_000)
    assert signal is not None
    assert abs(signal[[16_000, 32_000, 48_000]]) == pytest.approx([10**0.5, 10, 10**1.5], rel=1e-4)


def test_an_over_that_is_broken_off_ends_there() -> None:
    broken = station(Fading())
    broken.break_off(50_000)
    signal = broken.take(45_000, 20_000)
    assert signal is not None
    assert np.flatnonzero(signal).max() == 4999
    assert broken.take(99_000, 9_000) is None


def test_time_does_not_go_back() -> None:
    forward = station()
    forward.take(50_000, 100)
    with pytest.raises(ValueError, match="lies before 50100"):
        forward.take(50_050, 100)
