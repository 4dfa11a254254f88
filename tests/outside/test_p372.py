"""External noise compared with published figures.

Sources: ITU-R P.372-17 (08/2024), with constants from the reference software of ITU-R Study Group 3
(P372 version 14.3, Noise.c and the worked listing in ITURNoise.c); older published levels of
man-made noise in 1 Hz, quoted without a document.
"""

import math

import pytest

from drill.linkbudget.noise_levels import (
    KT0_W_PER_HZ,
    ExternalNoise,
    combine_noise,
    galactic_noise,
    man_made_noise,
    noise_power_dbw,
    system_noise_figure_db,
)

BANDS_MHZ = (3.5, 7.0, 14.0, 21.0, 28.0)
# Fam in dB at these frequencies; then dBm in 2.5 kHz with -174 dBm/Hz, rounded to 0.1 dB.
PUBLISHED = {
    "city": ((61.73, 53.39, 45.05, 40.17, 36.71), (-78.3, -86.6, -95.0, -99.8, -103.3)),
    "residential": ((57.43, 49.09, 40.75, 35.87, 32.41), (-82.6, -90.9, -99.3, -104.1, -107.6)),
    "rural": ((52.13, 43.79, 35.45, 30.57, 27.11), (-87.9, -96.2, -104.6, -109.4, -112.9)),
    "quiet-rural": ((38.04, 29.43, 20.82, 15.78, 12.21), (-102.0, -110.6, -119.2, -124.2, -127.8)),
    "galactic": ((39.49, 32.56, 25.64, 21.59, 18.72), (-100.5, -107.5, -114.4, -118.4, -121.3)),
}


def noise(name: str, frequency_mhz: float) -> ExternalNoise:
    if name == "galactic":
        return galactic_noise(frequency_mhz)
    return man_made_noise(name, frequency_mhz)


@pytest.mark.parametrize("name", PUBLISHED)
def test_medians_equal_the_published_ones(name: str) -> None:
    figures_db, _ = PUBLISHED[name]
    medians_db = [noise(name, frequency).median_db for frequency in BANDS_MHZ]
    assert medians_db == pytest.approx(figures_db, abs=0.006)


@pytest.mark.parametrize("name", PUBLISHED)
def test_power_in_a_voice_channel_equals_the_published_one(name: str) -> None:
    _, published_dbm = PUBLISHED[name]
    computed_dbm = [
        noise_power_dbw(noise(name, frequency).median_db, 2500) + 30 for frequency in BANDS_MHZ
    ]
    # 0.05 dB for rounding to 0.1 dB, and 0.025 dB for -174 instead of -173.975 dBm/Hz
    assert computed_dbm == pytest.approx(published_dbm, abs=0.08)


@pytest.mark.parametrize(
    ("name", "published_dbm"), [("city", -110.4), ("residential", -114.7), ("rural", -120.0)]
)
def test_older_levels_in_1_hz_agree_at_3_mhz(name: str, published_dbm: float) -> None:
    """The older list names no frequency; 3 MHz is inferred, because all three agree there."""
    power_dbm = noise_power_dbw(man_made_noise(name, 3.0).median_db, 1) + 30
    assert power_dbm == pytest.approx(published_dbm, abs=0.08)


@pytest.mark.parametrize(
    ("name", "upper_db", "lower_db"),
    [
        ("city", 11.0, 6.7),
        ("residential", 10.6, 5.3),
        ("rural", 9.2, 4.6),
        ("quiet-rural", 9.2, 4.6),
        ("galactic", 2.0, 2.0),
    ],
)
def test_deciles_equal_the_published_ones(name: str, upper_db: float, lower_db: float) -> None:
    assert (noise(name, 5.0).upper_db, noise(name, 5.0).lower_db) == (upper_db, lower_db)


def test_combined_noise_agrees_with_the_worked_example() -> None:
    """ITURNoise.c prints the results for atmospheric, city and galactic noise at 1 MHz."""
    atmospheric = ExternalNoise(median_db=60.732650, upper_db=10.600910, lower_db=8.277667)
    total = combine_noise([atmospheric, man_made_noise("city", 1.0), galactic_noise(1.0)])
    assert total.median_db == pytest.approx(76.986526, abs=1e-5)
    assert total.upper_db == pytest.approx(10.940193, abs=1e-5)
    assert total.lower_db == pytest.approx(6.573930, abs=1e-5)


def test_k_t0_is_minus_174_dbm_per_hz() -> None:
    """At 290 K it is -173.975 dBm/Hz, which P.372 rounds to -204 dBW/Hz."""
    assert 10 * math.log10(KT0_W_PER_HZ) + 30 == pytest.approx(-173.975, abs=0.0005)
    assert noise_power_dbw(0, 1) == pytest.approx(-204, abs=0.03)


def test_the_noise_factor_of_a_cascade_agrees_with_a_calculation_by_hand() -> None:
    """P.372, f = fa - 1 + fc ft fr: fa 1000, fc 2, ft 2 and fr 10 give 1039."""
    factor_2_db = 10 * math.log10(2)
    figure_db = system_noise_figure_db(
        30, antenna_loss_db=factor_2_db, line_loss_db=factor_2_db, receiver_db=10
    )
    assert 10 ** (figure_db / 10) == pytest.approx(1039)
