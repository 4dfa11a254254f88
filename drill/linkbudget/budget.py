"""The link budget of an HF contact: what watts, antennas and lines give at both ends of a path.

Conventions
-----------
* Watts are peak envelope power (PEP), 0.001 to 2000 W. SNR is the active speech level against noise
  in 3 kHz, as drill.radio.levels defines it.
* A path is described by path_snr_db: the SNR at the far end from 100 W, the voice unprocessed, both
  stations with the same reference antenna and without losses. By reciprocity the path loses as much
  in the other direction; what differs between the ends is power and noise.
* An antenna's figure is its pattern towards the other end against the reference antenna, and works
  in both directions. It does not change the noise, which is taken to come from all around. What
  wire, ground and line turn into heat is a loss: all of it counts in transmission, and in reception
  only as far as the station's own noise comes up beside the external noise (drill.linkbudget.noise_levels).
* Noise is by medians: no fluctuation from hour to hour, or from place to place.
"""

import math
import re
from dataclasses import dataclass, replace

from drill.core.errors import UserError
from drill.linkbudget.noise_levels import HIGH_MHZ, LOW_MHZ, external, noise_dbw, require, system_db
from drill.radio.levels import REFERENCE_BANDWIDTH_HZ

PEP_OVER_SPEECH_DB = 12.6
"""PEP over the active speech level of a voice without speech processing, in dB.

Measured here: transmit of 26 code words in one over, 300 to 2700 Hz, level control on; median of
the 25 operators of the roster 12.6, range 11.7 to 16.5. Published figures are lower, since they
count peaks as a meter knows them: 8 dB unprocessed ("CCIR long ago") and 9 to 10 dB in the
literature of carrier telephony (both second-hand).
"""
REFERENCE_W = 100.0
WATTS = (0.001, 2000.0)
S9_DBM = -73.0
S_UNIT_DB = 6.0
LIGHT_M_MHZ = 299.792458

GRADES = (
    ("just usable", 6.0, 47.0, 48.0),
    ("marginally commercial", 15.0, 56.0, 61.0),
    ("good commercial", 33.0, 64.0, 72.0),
)
"""Grade; audio SNR in 3 kHz, dB; PEP against noise in 1 Hz, dB-Hz, stable; the same, fading.

Source: ITU-R F.339-8 (02/2013), Annex 1, Table 1, J3E telephony, without diversity (second-hand).
"""
BELOW = "below usable"


@dataclass(frozen=True, kw_only=True, slots=True)
class Station:
    """One end: power, antenna, losses and the noise of the place.

    watts: PEP. antenna_db: pattern against the reference antenna, -40 to 40. short_db: what a
    shortened antenna turns into heat, line_db: what the feed line does, each 0 to 60. category: of
    man-made noise. atmospheric_db: a figure over k T0 b, None: left out. receiver_db: noise figure,
    0 to 60; 10 dB is common practice, no source.
    Raises: UserError where one is out of range.
    """

    watts: float = REFERENCE_W
    antenna_db: float = 0.0
    short_db: float = 0.0
    line_db: float = 0.0
    category: str = "residential"
    atmospheric_db: float | None = None
    receiver_db: float = 10.0

    def __post_init__(self) -> None:
        """Refuse what no station has."""
        require("a power of", self.watts, *WATTS, "W")
        require("an antenna of", self.antenna_db, -40, 40, "dB")
        require("a loss by shortening of", self.short_db, 0, 60, "dB")
        require("a line loss of", self.line_db, 0, 60, "dB")


@dataclass(frozen=True, kw_only=True, slots=True)
class Circuit:
    """Two stations and the path between them; path_snr_db -100 to 150, frequency 0.3 to 30 MHz.

    Raises: UserError where path_snr_db is out of range.
    """

    here: Station
    there: Station
    frequency_mhz: float
    path_snr_db: float

    def __post_init__(self) -> None:
        """Refuse a path of nonsense; the noise refuses the frequency."""
        require("a path with an SNR of", self.path_snr_db, -100, 150, "dB")


@dataclass(frozen=True, kw_only=True, slots=True)
class Signal:
    """What arrives: SNR in 3 kHz, and PEP against noise in 1 Hz, from so many watts."""

    watts: float
    snr_db: float
    pep_to_density_dbhz: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Budget:
    """Both directions of a circuit."""

    mine_there: Signal
    theirs_here: Signal


def budget(circuit: Circuit) -> Budget:
    """Return what arrives at both ends. Raises: UserError as drill.linkbudget.noise_levels."""
    here, there = circuit.here, circuit.there
    # The path's figure already holds the noise of the far end with a station without losses.
    reference_db = noise_figure_db(replace(there, short_db=0, line_db=0), circuit.frequency_mhz)
    return Budget(
        mine_there=_arriving(circuit, here, there, reference_db),
        theirs_here=_arriving(circuit, there, here, reference_db),
    )


def _arriving(circuit: Circuit, sender: Station, receiver: Station, reference_db: float) -> Signal:
    snr_db = (
        watts_to_snr(circuit.path_snr_db, sender.watts)
        + sender.antenna_db
        + receiver.antenna_db
        - sender.short_db
        - sender.line_db
        + reference_db
        - noise_figure_db(receiver, circuit.frequency_mhz)
    )
    return Signal(
        watts=sender.watts, snr_db=snr_db, pep_to_density_dbhz=pep_to_density_dbhz(snr_db)
    )


def watts_to_snr(path_snr_db: float, watts: float) -> float:
    """Return the SNR in dB that watts give on a path where 100 W give path_snr_db.

    Raises: UserError where watts are not 0.001 to 2000.
    """
    require("a power of", watts, *WATTS, "W")
    return path_snr_db + 10 * math.log10(watts / REFERENCE_W)


def pep_to_density_dbhz(snr_db: float) -> float:
    """Return PEP against noise in 1 Hz, dB-Hz, of an unprocessed voice at this SNR in 3 kHz."""
    return snr_db + PEP_OVER_SPEECH_DB + 10 * math.log10(REFERENCE_BANDWIDTH_HZ)


def noise_figure_db(station: Station, frequency_mhz: float) -> float:
    """Return the noise figure of a station with all around it, dB, at its lossless antenna."""
    return system_db(
        external(station.category, frequency_mhz, station.atmospheric_db).median_db,
        antenna_loss_db=station.short_db,
        line_loss_db=station.line_db,
        receiver_db=station.receiver_db,
    )


def reception_cost_db(station: Station, frequency_mhz: float) -> float:
    """Return by how many dB a station's losses worsen the SNR of what it receives, 0 or more."""
    lossless = replace(station, short_db=0, line_db=0)
    return noise_figure_db(station, frequency_mhz) - noise_figure_db(lossless, frequency_mhz)


def grade(pep_to_density_dbhz: float, fading: bool) -> str:
    """Return the grade of ITU-R F.339-8 (GRADES) that is reached, or BELOW.

    F.339 takes PEP closer to the speech than PEP_OVER_SPEECH_DB: 47 dB-Hz is 12.2 dB in 3 kHz, just
    usable audio 6 dB. So for an unprocessed voice the grade is on the generous side; the audio
    column of GRADES, held against the SNR, is the stricter one.
    """
    reached = BELOW
    for name, _, stable, faded in GRADES:
        if pep_to_density_dbhz >= (faded if fading else stable):
            reached = name
    return reached


def s_dbm(reading: str) -> float:
    """Return the power in dBm of an S reading: "0" to "9" (also "S7", "6.5"), "9+10" for more.

    Raises: UserError where it is no such reading, or more than 60 dB over S9.
    Source: IARU Region 1 Technical Recommendation R.1, below 30 MHz: S9 -73 dBm, S unit 6 dB.
    """
    found = re.fullmatch(r"[sS]?(?:([0-8](?:\.\d+)?|9)|9\+([1-5]?\d|60))", reading.strip())
    if not found:
        raise UserError(f"{reading!r} is no S reading; give 0 to 9, or 9+1 to 9+60 for dB over S9")
    return S9_DBM + S_UNIT_DB * (float(found[1] or 9) - 9) + float(found[2] or 0)


def path_snr_from_s(reading: str, there: Station, frequency_mhz: float) -> float:
    """Return path_snr_db of a path where 100 W PEP give this S reading at the far end.

    The reading is taken as PEP, since the detector of R.1 is quasi-peak, and as at the terminals of
    the reference antenna without losses.
    Raises: UserError as s_dbm and drill.linkbudget.noise_levels.
    """
    figure_db = noise_figure_db(replace(there, short_db=0, line_db=0), frequency_mhz)
    noise_dbm = noise_dbw(figure_db, REFERENCE_BANDWIDTH_HZ) + 30
    return s_dbm(reading) - PEP_OVER_SPEECH_DB - noise_dbm


def radiation_ohm(length_m: float, frequency_mhz: float, *, dipole: bool = False) -> float:
    """Return the radiation resistance, ohm, of a short vertical over ground or a short dipole.

    length_m: height of the vertical, or the dipole from end to end; current falls to the ends in a
    straight line. 40 pi^2 (h / lambda)^2 and 20 pi^2 (l / lambda)^2.
    Raises: UserError where it is longer than an eighth (dipole: a quarter) of a wavelength.
    Source: Balanis, Antenna Theory, small dipole and the approximation Rin = 20 G^2, G = pi l /
    lambda below pi / 4, with half of it for a monopole (from memory).
    """
    require("a frequency of", frequency_mhz, LOW_MHZ, HIGH_MHZ, "MHz")
    wave_m = LIGHT_M_MHZ / frequency_mhz
    longest = wave_m / (4 if dipole else 8)
    if not 0 < length_m <= longest:
        raise UserError(
            f"an antenna of {length_m:g} m is out of range at {frequency_mhz:g} MHz; the formula "
            f"holds for more than 0 and at most {longest:.2f} m, else give its loss in dB"
        )
    return (20 if dipole else 40) * (math.pi * length_m / wave_m) ** 2


def shortening_db(radiation: float, loss: float) -> float:
    """Return what a short antenna loses, 10 lg((Rr + Rl) / Rr) dB, Rr above 0 ohm.

    Raises: UserError where the loss resistance is not 0 to 1000 ohm.
    """
    require("a loss resistance of", loss, 0, 1000, "ohm")
    return 10 * math.log10((radiation + loss) / radiation)


def line_db(length_m: float, db_per_100_m: float) -> float:
    """Return the loss of a matched feed line in dB.

    Raises: UserError where the length is not 0 to 1000 m, or the loss of 100 m not 0 to 100 dB.
    """
    require("a line of", length_m, 0, 1000, "m")
    require("a line loss over 100 m of", db_per_100_m, 0, 100, "dB")
    return length_m * db_per_100_m / 100
