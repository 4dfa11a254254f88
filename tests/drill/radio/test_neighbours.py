"""Neighbours: frequency, sideband, level, splatter, and the times at which they transmit."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import welch

from drill.core.conditions import Conditions, Neighbour
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ
from drill.radio.neighbours import LISTENING_GAP_S, RepeatingStation
from drill.radio.presets import parse_fading
from tests.drill.radio.measured import strongest_hz, without_wanted_station
from tests.drill.radio.sounds import hum, voice_like


@pytest.mark.parametrize(
    ("neighbour", "audio_hz"),
    [
        (Neighbour(offset_hz=500.0), 1500.0),
        (Neighbour(offset_hz=-312.5), 687.5),
        (Neighbour(offset_hz=3000.0, inverted=True), 2000.0),
        (Neighbour(offset_hz=2500.0, inverted=True), 1500.0),
    ],
)
def test_a_neighbour_is_heard_at_its_frequency(neighbour: Neighbour, audio_hz: float) -> None:
    """Its 1000 Hz are shifted by its offset; on the other sideband, to its offset minus 1000."""
    steady = replace(neighbour, fading=parse_fading("steady"))
    conditions = Conditions(snr_db=None, neighbours=(steady,))
    audio = without_wanted_station(conditions, 3.0, hum(1000.0, 30.0))
    assert strongest_hz(audio) == pytest.approx(audio_hz, abs=0.5)


def test_a_neighbour_has_its_own_snr() -> None:
    """Its snr_db is its active level relative to the noise in 3 kHz, as for the wanted station."""
    conditions = Conditions(snr_db=6.0, neighbours=(Neighbour(offset_hz=500.0, snr_db=20.0),))
    both = without_wanted_station(conditions, 20.0, hum(1000.0, 30.0))
    noise = without_wanted_station(replace(conditions, neighbours=()), 20.0)
    # The neighbour pauses at times: in the median second it transmits.
    station = np.median(np.mean((both - noise).reshape(20, -1) ** 2, axis=1))
    _, power = welch(noise, AUDIO_RATE_HZ, nperseg=1024)
    density = float(np.mean(power[40:160]))
    assert 10 * np.log10(station / (3000 * density)) == pytest.approx(20, abs=0.15)


def test_a_distant_neighbour_is_heard_only_if_it_splatters() -> None:
    neighbour = Neighbour(offset_hz=3400.0, snr_db=40.0, fading=parse_fading("steady"))
    levels_db = []
    for overdrive_db in (0.0, 12.0):
        overdriven = replace(neighbour, overdrive_db=overdrive_db)
        conditions = Conditions(snr_db=0.0, neighbours=(overdriven,))
        noise = without_wanted_station(replace(conditions, neighbours=()), 8.0)
        both = without_wanted_station(conditions, 8.0, voice_like(8.0, seed=4))
        levels_db.append(10 * np.log10(np.mean((both - noise) ** 2) / np.mean(noise**2)))
    assert levels_db[0] < 0
    assert levels_db[1] > 10


@pytest.mark.parametrize("seed", range(5))
def test_a_station_repeats_its_over_with_a_gap(seed: int) -> None:
    over = np.arange(1, 1001, dtype=np.complex64)
    station = RepeatingStation(over, np.random.default_rng(seed))
    signal = np.concatenate([station.take(count) for count in (0, 1, 7, 40_000)])
    starts = np.flatnonzero(signal == 1)
    assert len(starts) > 1
    gaps_s = (np.diff(starts) - len(over)) / BASEBAND_RATE_HZ
    assert np.all(gaps_s == gaps_s[0])
    assert LISTENING_GAP_S[0] <= gaps_s[0] <= LISTENING_GAP_S[1]
    assert np.array_equal(signal[starts[0] : starts[0] + len(over)], over)
