"""The link budget compared with published figures and with calculations by hand."""

import math

import numpy as np
import pytest
from scipy.signal import resample_poly

from drill import voices
from drill.core.conditions import Transmitter
from drill.core.models import Operator
from drill.linkbudget.antennas import (
    feed_line_loss_db,
    radiation_resistance_ohm,
    shortening_loss_db,
)
from drill.linkbudget.budget import (
    LinkEnd,
    pep_to_density_dbhz,
    snr_from_watts,
)
from drill.linkbudget.grades import F339_GRADES, f339_grade
from drill.linkbudget.s_meter import path_snr_from_s, s_reading_dbm
from drill.radio import CENTRE_HZ
from drill.radio.levels import RATED_PEP_DB, speech_level
from drill.radio.transmitter import transmit
from drill.voices.people.roster import ROSTER
from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.message import Word


@pytest.mark.parametrize(
    ("more_w", "less_w", "ratio_db"),
    [(100, 20, 6.9897), (20, 5, 6.0206), (100, 5, 13.0103), (10, 5, 3.0103), (1500, 5, 24.7712)],
)
def test_power_ratios_in_decibels(more_w: float, less_w: float, ratio_db: float) -> None:
    """10 lg of the ratio, to the last printed digit."""
    difference_db = snr_from_watts(0, more_w) - snr_from_watts(0, less_w)
    assert difference_db == pytest.approx(ratio_db, abs=5e-5)


@pytest.mark.parametrize(
    ("reading", "power_dbm"),
    list(zip("123456789", (-121, -115, -109, -103, -97, -91, -85, -79, -73), strict=True)),
)
def test_the_s_scale_equals_that_of_r1(reading: str, power_dbm: float) -> None:
    """IARU Region 1 Technical Recommendation R.1 (Brighton 1981), below 30 MHz."""
    assert s_reading_dbm(reading) == pytest.approx(power_dbm)


def test_s9_is_50_microvolts() -> None:
    """R.1: S9 is 50 uV across 50 ohm, -73.01 dBm."""
    assert s_reading_dbm("9") == pytest.approx(10 * math.log10(50e-6**2 / 50 / 1e-3), abs=0.011)


def test_the_path_from_an_s_reading_agrees_with_a_calculation_by_hand() -> None:
    """S9 in a city at 14 MHz: Fam 45.05 dB (P.372) and 34.77 dB of bandwidth on -173.975 dBm/Hz.

    Man-made noise dominates in a city: everything else adds less than 0.1 dB.
    """
    by_hand_db = -73 - RATED_PEP_DB - (-173.975 + 45.05 + 34.771)
    path_snr_db = path_snr_from_s("9", LinkEnd(noise_category="city"), 14.0)
    assert path_snr_db == pytest.approx(by_hand_db, abs=0.1)


def test_grades_equal_those_of_f339() -> None:
    """ITU-R F.339-8 (02/2013), Annex 1, Table 1, J3E, no diversity (seen second-hand)."""
    rows = [
        (grade.name, grade.audio_snr_db, grade.steady_dbhz, grade.fading_dbhz)
        for grade in F339_GRADES
    ]
    assert rows == [
        ("just usable", 6, 47, 48),
        ("marginally commercial", 15, 56, 61),
        ("good commercial", 33, 64, 72),
    ]


@pytest.mark.parametrize(
    ("density_dbhz", "steady", "fading"),
    [
        (46.9, "below usable", "below usable"),
        (47, "just usable", "below usable"),
        (48, "just usable", "just usable"),
        (56, "marginally commercial", "just usable"),
        (61, "marginally commercial", "marginally commercial"),
        (64, "good commercial", "marginally commercial"),
        (72, "good commercial", "good commercial"),
    ],
)
def test_each_grade_starts_at_its_figure_in_f339(
    density_dbhz: float, steady: str, fading: str
) -> None:
    assert f339_grade(density_dbhz, fading=False) == steady
    assert f339_grade(density_dbhz, fading=True) == fading


def test_density_and_bandwidth() -> None:
    """47 dB-Hz of PEP is 12.2 dB of PEP in 3 kHz (10 lg 3000 = 34.771 dB)."""
    pep_in_3_khz_db = 12.229
    density_dbhz = pep_to_density_dbhz(pep_in_3_khz_db - RATED_PEP_DB)
    assert density_dbhz == pytest.approx(47, abs=0.001)


def test_radiation_resistance_of_short_antennas() -> None:
    """Balanis, Antenna Theory: 20 G^2 ends at 12.337 ohm (dipole), 10 G^2 at 6.169 (monopole).

    There the dipole is a quarter of a wavelength long, the monopole an eighth. From memory.
    """
    wavelength_m = 299.792458 / 10
    just_below = 0.99999  # rounding could exceed the limit itself
    dipole_ohm = radiation_resistance_ohm(wavelength_m / 4 * just_below, 10, dipole=True)
    assert dipole_ohm == pytest.approx(12.337, abs=0.001)
    monopole_ohm = radiation_resistance_ohm(wavelength_m / 8 * just_below, 10)
    assert monopole_ohm == pytest.approx(6.169, abs=0.001)


def test_triangular_current_has_a_quarter_of_the_resistance_of_uniform_current() -> None:
    """A dipole of lambda / 50 with uniform current has 80 pi^2 / 2500 = 0.316 ohm (Balanis)."""
    dipole_ohm = radiation_resistance_ohm(299.792458 / 50, 1, dipole=True)
    assert 4 * dipole_ohm == pytest.approx(0.316, abs=0.0005)


def test_losses_agree_with_calculations_by_hand() -> None:
    """Equal radiation and loss resistance halve the power; 20 m at 3 dB per 100 m lose 0.6 dB."""
    assert shortening_loss_db(5, 5) == pytest.approx(3.0103, abs=5e-5)
    assert feed_line_loss_db(20, 3) == pytest.approx(0.6)


def measured_pep_over_speech_db(operator: Operator) -> float:
    """Measure an emission by independent means: SciPy's interpolation, and real audio."""
    words = tuple(Word(say=word.lower(), pause=",") for word in ITU_CODE_WORDS.values())
    emission = transmit(voices.speak(words, operator, 1), Transmitter())
    rate_hz = 8 * emission.rate_hz
    fine = resample_poly(np.pad(emission.samples, emission.rate_hz).astype(np.complex128), 8, 1)
    cycles = CENTRE_HZ / rate_hz * np.arange(len(fine))
    audio = (fine * np.exp(2j * np.pi * cycles)).real
    pep = float(np.max(np.abs(fine) ** 2)) / 2
    return 10 * math.log10(pep) - speech_level(audio, rate_hz).active_db


@pytest.mark.slow
def test_the_pep_of_the_roster() -> None:
    """RATED_PEP_DB is the median of the roster; voices with higher peaks exceed it.

    Published, unprocessed: 8 dB ("CCIR long ago"), 9 to 10 dB in carrier telephony (second-hand),
    10 dB for smoothly read text (ITU-R SM.326, value from memory).
    """
    measured_db = [measured_pep_over_speech_db(operator) for operator in ROSTER]
    assert float(np.median(measured_db)) == pytest.approx(RATED_PEP_DB, abs=0.3)
    assert min(measured_db) > RATED_PEP_DB - 0.3
    assert float(np.quantile(measured_db, 0.9)) < RATED_PEP_DB + 3.5
