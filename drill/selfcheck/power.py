"""Check of the conversion from watts to SNR."""

from collections.abc import Iterator

from drill.linkbudget.budget import snr_from_watts
from drill.selfcheck.figures import CheckedFigure


def check_power() -> Iterator[CheckedFigure]:
    """Convert two powers to decibels relative to 100 W."""
    for watts, expected_db in ((20.0, -6.9897), (5.0, -13.0103)):
        yield CheckedFigure(
            quantity=f"{watts:g} W relative to 100 W",
            value=snr_from_watts(0.0, watts),
            low=expected_db - 1e-3,
            high=expected_db + 1e-3,
            unit="dB",
            source="10 lg of the ratio",
        )
