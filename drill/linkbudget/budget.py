"""Link budget of an HF contact: the SNR at both ends of a path.

Conventions
-----------
* Watts are peak envelope power (PEP), 0.001 to 2000 W. SNR is the active speech level relative to
  the noise in 3 kHz, as drill.radio.levels defines it.
* A path is described by path_snr_db: the SNR at the far end from 100 W with unprocessed speech, if
  both stations have the same reference antenna and no losses. By reciprocity the path attenuates
  equally in both directions; the ends differ in power and noise.
* antenna_db is an antenna's gain towards the other end relative to the reference antenna, and
  counts in both directions. It does not change the noise, which is assumed to arrive from all
  directions. Power that wire, ground and line turn into heat is a loss. A loss counts fully on
  transmit, but on receive only to the extent that the receiver's own noise approaches the external
  noise (drill.linkbudget.noise_levels).
* Noise levels are medians, without variation between hours or places.
"""

import math
from dataclasses import dataclass, replace

from drill.core.validation import within
from drill.linkbudget.noise_levels import external_noise, system_noise_figure_db
from drill.radio.levels import RATED_PEP_DB, REFERENCE_BANDWIDTH_HZ

REFERENCE_W = 100.0
MIN_WATTS, MAX_WATTS = 0.001, 2000.0


@dataclass(frozen=True, kw_only=True, slots=True)
class LinkEnd:
    """One end of a circuit: power, antenna, losses and local noise.

    watts: PEP. antenna_db: gain relative to the reference antenna, -40 to 40. shortening_loss_db:
    loss of a shortened antenna; line_loss_db: loss of the feed line; each 0 to 60.
    noise_category: of man-made noise (drill.linkbudget.noise_levels). atmospheric_db: noise figure
    above k T0 b, None to leave it out. receiver_db: noise figure, 0 to 60; 10 dB is common
    practice, no source.

    Raises: UserError if a value is out of range.
    """

    watts: float = REFERENCE_W
    antenna_db: float = 0.0
    shortening_loss_db: float = 0.0
    line_loss_db: float = 0.0
    noise_category: str = "residential"
    atmospheric_db: float | None = None
    receiver_db: float = 10.0

    def __post_init__(self) -> None:
        """Check the ranges; the functions that calculate the noise check the other values."""
        within("watts", self.watts, MIN_WATTS, MAX_WATTS, "W", label="power")
        within("antenna_db", self.antenna_db, -40, 40, "dB", label="antenna gain")
        within("shortening_loss_db", self.shortening_loss_db, 0, 60, "dB", label="shortening loss")
        within("line_loss_db", self.line_loss_db, 0, 60, "dB", label="loss of the feed line")


@dataclass(frozen=True, kw_only=True, slots=True)
class Circuit:
    """Two stations and the path between them.

    frequency_mhz: 0.3 to 30. path_snr_db: -100 to 150.

    Raises: UserError if path_snr_db is out of range; link_budget checks the frequency.
    """

    here: LinkEnd
    there: LinkEnd
    frequency_mhz: float
    path_snr_db: float

    def __post_init__(self) -> None:
        """Check the range of the path's SNR."""
        within("path_snr_db", self.path_snr_db, -100, 150, "dB", label="SNR of the path")


@dataclass(frozen=True, kw_only=True, slots=True)
class ReceivedSignal:
    """A signal at the receiving end: the sender's PEP in watts, and the SNR that results.

    snr_db: in 3 kHz. pep_to_density_dbhz: PEP relative to the noise in 1 Hz.
    """

    watts: float
    snr_db: float
    pep_to_density_dbhz: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LinkBudget:
    """Both directions of a circuit: my signal there, and their signal here."""

    mine_there: ReceivedSignal
    theirs_here: ReceivedSignal


def link_budget(circuit: Circuit) -> LinkBudget:
    """Return the signals that arrive at both ends.

    Raises: UserError if the frequency, a noise category or a noise figure is not valid.
    """
    here, there = circuit.here, circuit.there
    # path_snr_db already includes the noise of the far end for a station without losses.
    reference_db = noise_figure_db(without_losses(there), circuit.frequency_mhz)
    return LinkBudget(
        mine_there=_received(circuit, here, there, reference_db),
        theirs_here=_received(circuit, there, here, reference_db),
    )


def _received(
    circuit: Circuit, sender: LinkEnd, receiver: LinkEnd, reference_db: float
) -> ReceivedSignal:
    snr_db = (
        snr_from_watts(circuit.path_snr_db, sender.watts)
        + sender.antenna_db
        + receiver.antenna_db
        - sender.shortening_loss_db
        - sender.line_loss_db
        + reference_db
        - noise_figure_db(receiver, circuit.frequency_mhz)
    )
    return ReceivedSignal(
        watts=sender.watts, snr_db=snr_db, pep_to_density_dbhz=pep_to_density_dbhz(snr_db)
    )


def snr_from_watts(path_snr_db: float, watts: float) -> float:
    """Return the SNR in dB for a power, on a path where 100 W give path_snr_db.

    Raises: UserError with field "watts" if the power is not 0.001 to 2000 W.
    """
    within("watts", watts, MIN_WATTS, MAX_WATTS, "W", label="power")
    return path_snr_db + 10 * math.log10(watts / REFERENCE_W)


def pep_to_density_dbhz(snr_db: float) -> float:
    """Return PEP relative to the noise in 1 Hz, dB-Hz, of unprocessed speech at this SNR."""
    return snr_db + RATED_PEP_DB + 10 * math.log10(REFERENCE_BANDWIDTH_HZ)


def without_losses(end: LinkEnd) -> LinkEnd:
    """Return the station with a lossless antenna and feed line."""
    return replace(end, shortening_loss_db=0, line_loss_db=0)


def noise_figure_db(end: LinkEnd, frequency_mhz: float) -> float:
    """Return the noise figure of a station including external noise, in dB.

    It refers to a lossless antenna. Raises: UserError as link_budget.
    """
    return system_noise_figure_db(
        external_noise(end.noise_category, frequency_mhz, end.atmospheric_db).median_db,
        antenna_loss_db=end.shortening_loss_db,
        line_loss_db=end.line_loss_db,
        receiver_db=end.receiver_db,
    )


def reception_cost_db(end: LinkEnd, frequency_mhz: float) -> float:
    """Return by how many dB a station's losses reduce the SNR of what it receives, 0 or more."""
    lossless = without_losses(end)
    return noise_figure_db(end, frequency_mhz) - noise_figure_db(lossless, frequency_mhz)
