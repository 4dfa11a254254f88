"""The share of luck in a hunt: interpolation and scaling of the scripted hunter's figures."""

import math
from dataclasses import replace

import pytest

from drill.hunt.luck import LuckRow, hunt_luck, luck_rows, luck_sentence
from drill.hunt.values import band_kinds
from tests.drill.hunt.hunts import hunt


def row(band: str, watts: float, mean: float, sd: float, policy: str = "strongest") -> LuckRow:
    return LuckRow(band=band, watts=watts, policy=policy, mean=mean, sd=sd, seeds=30)


ROWS = (
    row("jammed", 5, 20, 4),
    row("jammed", 20, 30, 5),
    row("jammed", 100, 50, 7),
    row("jammed", 5, 16, 3, policy="first"),
    row("open", 5, 22, 5),
)


def test_a_power_of_the_table_gives_its_row() -> None:
    luck = hunt_luck(hunt(watts=5.0), ROWS)
    assert luck is not None
    assert (luck.mean, luck.sd, luck.seeds) == (20, 4, 30)


def test_other_powers_are_interpolated_or_clamped() -> None:
    means = []
    for watts in (1.0, 5.0, 10.0, 20.0, 100.0, 400.0):
        luck = hunt_luck(hunt(watts=watts), ROWS)
        assert luck is not None
        means.append(luck.mean)
    assert means[2] == pytest.approx(25)  # 10 W is in the middle of 5 and 20 W, in dB
    assert means == sorted(means)
    assert (means[0], means[-1]) == (20, 50)


def test_a_shorter_hunt_has_fewer_contacts() -> None:
    luck = hunt_luck(hunt(seconds=900.0), ROWS)
    assert luck is not None
    assert luck.mean == pytest.approx(5)
    assert luck.sd == pytest.approx(4 * math.sqrt(0.25))


def test_the_best_of_several_bands_counts_and_unknown_bands_have_no_luck() -> None:
    luck = hunt_luck(replace(hunt(), bands=("jammed", "open")), ROWS)
    assert luck is not None
    assert luck.mean == 22
    assert hunt_luck(replace(hunt(), bands=("mine",)), ROWS) is None
    assert luck_sentence(replace(hunt(), bands=("mine",))) == ""


def test_the_packaged_rows_are_plausible() -> None:
    for entry in luck_rows():
        assert entry.band in band_kinds()
        assert entry.seeds >= 2
        # The spread of a scripted hunter is near that of a Poisson count (contacts an hour); from
        # few hunts it is known only roughly.
        assert 0.2 <= entry.sd / math.sqrt(entry.mean) <= 3.0
