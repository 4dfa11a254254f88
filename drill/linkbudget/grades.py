"""Grades of service of ITU-R F.339 for single-sideband telephony."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class F339Grade:
    """A grade of service and the SNR that it requires.

    audio_snr_db: SNR in 3 kHz. steady_dbhz, fading_dbhz: PEP relative to the noise in 1 Hz, on a
    stable and on a fading path.
    """

    name: str
    audio_snr_db: float
    steady_dbhz: float
    fading_dbhz: float


F339_GRADES = (
    F339Grade(name="just usable", audio_snr_db=6.0, steady_dbhz=47.0, fading_dbhz=48.0),
    F339Grade(name="marginally commercial", audio_snr_db=15.0, steady_dbhz=56.0, fading_dbhz=61.0),
    F339Grade(name="good commercial", audio_snr_db=33.0, steady_dbhz=64.0, fading_dbhz=72.0),
)
"""Lowest grade first.

Source: ITU-R F.339-8 (02/2013), Annex 1, Table 1, J3E telephony, without diversity (second-hand).
"""
BELOW_USABLE = "below usable"


def f339_grade(pep_to_density_dbhz: float, *, fading: bool) -> str:
    """Return the name of the highest grade that is reached, or BELOW_USABLE.

    F.339 assumes a PEP closer to the speech level than drill.linkbudget.budget does: 47 dB-Hz is a
    PEP of 12.2 dB in 3 kHz, for just usable audio with an SNR of 6 dB. For unprocessed speech this
    grade is therefore generous; comparing the SNR with audio_snr_db is stricter.
    """
    reached = BELOW_USABLE
    for grade in F339_GRADES:
        if pep_to_density_dbhz >= (grade.fading_dbhz if fading else grade.steady_dbhz):
            reached = grade.name
    return reached
