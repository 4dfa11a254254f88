"""External noise against published figures.

Sources: ITU-R P.372-17 (08/2024) as its constants stand in the reference software of ITU-R Study
Group 3 (P372 version 14.3, Noise.c and the worked listing in ITURNoise.c); older published 1-Hz
levels of man-made noise, quoted without a document.
"""

import math

import pytest

from drill.linkbudget.noise_levels import (
    KT0_W_PER_HZ,
    Noise,
    combine,
    galactic,
    man_made,
    noise_dbw,
    system_db,
)

BANDS_MHZ = (3.5, 7.0, 14.0, 21.0, 28.0)
# Fam, dB, at those frequencies; then dBm in 2.5 kHz with -174 dBm/Hz, rounded to 0.1.
PUBLISHED = {
    "city": ((61.73, 53.39, 45.05, 40.17, 36.71), (-78.3, -86.6, -95.0, -99.8, -103.3)),
    "residential": ((57.43, 49.09, 40.75, 35.87, 32.41), (-82.6, -90.9, -99.3, -104.1, -107.6)),
    "rural": ((52.13, 43.79, 35.45, 30.57, 27.11), (-87.9, -96.2, -104.6, -109.4, -112.9)),
    "quiet-rural": ((38.04, 29.43, 20.82, 15.78, 12.21), (-102.0, -110.6, -119.2, -124.2, -127.8)),
    "galactic": ((39.49, 32.56, 25.64, 21.59, 18.72), (-100.5, -107.5, -114.4, -118.4, -121.3)),
}


def noise(name: str, frequency_mhz: float) -> Noise:
    return galactic(frequency_mhz) if name == "galactic" else man_made(name, frequency_mhz)


@pytest.mark.parametrize("name", PUBLISHED)
def test_medians(name: str) -> None:
    figures, _ = PUBLISHED[name]
    assert [noise(name, f).median_db for f in BANDS_MHZ] == pytest.approx(figures, abs=0.006)


@pytest.mark.parametrize("name", PUBLISHED)
def test_power_in_a_voice_channel(name: str) -> None:
    _, dbm = PUBLISHED[name]
    computed = [noise_dbw(noise(name, f).median_db, 2500) + 30 for f in BANDS_MHZ]
    # 0.05 for rounding to 0.1 and 0.025 for -174 in place of -173.975 dBm/Hz
    assert computed == pytest.approx(dbm, abs=0.08)


@pytest.mark.parametrize(
    ("name", "dbm"), [("city", -110.4), ("residential", -114.7), ("rural", -120.0)]
)
def test_older_levels_in_1_hz(name: str, dbm: float) -> None:
    """The older list names no frequency; 3 MHz, where all three agree, is inferred."""
    assert noise_dbw(man_made(name, 3.0).median_db, 1) + 30 == pytest.approx(dbm, abs=0.08)


@pytest.mark.parametrize(
    ("name", "upper", "lower"),
    [
        ("city", 11.0, 6.7),
        ("residential", 10.6, 5.3),
        ("rural", 9.2, 4.6),
        ("quiet-rural", 9.2, 4.6),
        ("galactic", 2.0, 2.0),
    ],
)
def test_deciles(name: str, upper: float, lower: float) -> None:
    assert (noise(name, 5.0).upper_db, noise(name, 5.0).lower_db) == (upper, lower)


def test_worked_example_of_combined_noise() -> None:
    """1 MHz, atmospheric and city and galactic: ITURNoise.c prints the three results."""
    atmospheric = Noise(median_db=60.732650, upper_db=10.600910, lower_db=8.277667)
    total = combine([atmospheric, man_made("city", 1.0), galactic(1.0)])
    assert total.median_db == pytest.approx(76.986526, abs=1e-5)
    assert total.upper_db == pytest.approx(10.940193, abs=1e-5)
    assert total.lower_db == pytest.approx(6.573930, abs=1e-5)


def test_kt0() -> None:
    """K T0 at 290 K is -173.975 dBm/Hz, which P.372 rounds to -204 dBW/Hz."""
    assert 10 * math.log10(KT0_W_PER_HZ) + 30 == pytest.approx(-173.975, abs=0.0005)
    assert noise_dbw(0, 1) == pytest.approx(-204, abs=0.03)


def test_noise_factor_of_a_cascade() -> None:
    """P.372, f = fa - 1 + fc ft fr, by hand: fa 1000, fc 2, ft 2, fr 10 give 1039."""
    two = 10 * math.log10(2)
    result = system_db(30, antenna_loss_db=two, line_loss_db=two, receiver_db=10)
    assert 10 ** (result / 10) == pytest.approx(1039)
