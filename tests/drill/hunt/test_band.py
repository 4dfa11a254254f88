"""Composed bands: positions, strengths and times of the stations."""

from dataclasses import replace
from statistics import fmean, median, stdev

import numpy as np
import pytest

from drill.hunt.band import Band, compose_band
from drill.hunt.values import find_band_kind
from tests.drill.hunt.simple_hunter import make_setup


def composed(
    kind: str = "jammed", *, seed: int = 1, weekend: float = 0.0, watts: float = 5.0
) -> Band:
    setup = make_setup(minutes=60.0, seed=seed, watts=watts)
    return compose_band(replace(setup, bands=(find_band_kind(kind),), weekend=weekend), 0)


def at_start(band: Band) -> int:
    return sum(holder.starts_s <= 0 < holder.stops_s for holder in band.holders)


def test_the_same_seed_gives_the_same_band_at_any_power() -> None:
    assert composed(watts=100.0).holders == composed(watts=5.0).holders
    assert composed().holders != composed(seed=2).holders


def test_no_station_has_the_call_of_another_or_of_the_trainee() -> None:
    calls = [holder.call for holder in composed().holders]
    assert len(set(calls)) == len(calls)
    assert make_setup().own_call not in calls


def test_stations_lie_on_the_band_apart_from_each_other() -> None:
    band = composed()
    present = [h for h in band.holders if h.starts_s <= 0]
    carriers = sorted(h.carrier_hz for h in present)
    assert band.lower_hz < carriers[0] < carriers[-1] < band.upper_hz
    spacings = np.diff(carriers)
    # Common practice, no source: 2 to 3 kHz between neighbours of a jammed band.
    assert 2000 < median(spacings) < 3000
    assert min(spacings) > 500


def test_most_carriers_lie_near_a_multiple_of_500_hz() -> None:
    """Common practice, no source."""
    offsets = [(h.carrier_hz + 250) % 500 - 250 for h in composed().holders]
    assert 0.6 < fmean(abs(offset) < 40 for offset in offsets) < 0.95


def test_levels_are_spread_as_the_preset_says() -> None:
    kind = find_band_kind("jammed")
    levels = [h.station.near_db for seed in range(3) for h in composed(seed=seed).holders]
    assert fmean(levels) == pytest.approx(kind.median_db, abs=2.5)
    assert stdev(levels) == pytest.approx(kind.sd_db, abs=2.0)


def test_both_ends_drift_together() -> None:
    holder = composed().holders[0]
    times = [0.0, 300.0, 1500.0]
    near = [holder.near_db(t) for t in times]
    far = [holder.far_db(5.0, t) for t in times]
    assert np.diff(near) == pytest.approx(np.diff(far))
    assert holder.drift.db_over_time(np.array(times)) == pytest.approx(
        [holder.drift.db(t) for t in times]
    )


def test_a_closing_band_sinks_and_empties() -> None:
    band = composed("closing")
    assert fmean(h.drift.db(3600) - h.drift.db(0) for h in band.holders) < -8
    late = sum(h.starts_s <= 3500 < h.stops_s for h in band.holders)
    assert late < at_start(band)


def test_stations_and_callers_get_fewer_over_a_weekend() -> None:
    assert at_start(composed()) == 60
    assert at_start(composed(weekend=1.0)) == 30
    early, late = (
        fmean(h.callers_per_hour for h in composed(weekend=weekend).holders) for weekend in (0, 1)
    )
    assert late < 0.8 * early


def test_stations_come_and_go_within_the_hour() -> None:
    holders = composed().holders
    assert any(0 < h.starts_s < 3600 for h in holders)
    assert any(0 < h.stops_s < 3600 for h in holders)
    assert all(h.stops_s >= h.starts_s + 60 or h.starts_s < 0 for h in holders)
