"""Limits of speaking rate and sound; a review reports a finding for every figure beyond them.

If no publication states a limit for speech on the air, the limit is common practice, no source, and
chosen so that no natural voice of the roster exceeds it without noise (tests/measured/defects.md).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from drill.sending.models import ADVICE, FAULT, Finding

COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True, kw_only=True, slots=True)
class FigureLimit:
    """The range of a figure without a finding, from low to high; None for no limit.

    unit: of the figure. source: publication of the limit. severity: of the finding beyond it.
    """

    low: float | None = None
    high: float | None = None
    unit: str
    source: str = COMMON_PRACTICE
    severity: str = FAULT

    def allows(self, figure: float | None) -> bool:
        """Return True if the figure is within the limit, or None because it was not measured."""
        if figure is None:
            return True
        return (self.low is None or figure >= self.low) and (
            self.high is None or figure <= self.high
        )


FIGURE_LIMITS: Mapping[str, FigureLimit] = {
    "hurried": FigureLimit(high=7.0, unit="syllables/s"),
    "slow": FigureLimit(low=2.8, unit="syllables/s", severity=ADVICE),
    "pause": FigureLimit(high=1.2, unit="s", severity=ADVICE),
    "quiet": FigureLimit(low=-40.0, unit="dB"),
    "clipped": FigureLimit(high=0.0005, unit="of samples"),
    "noisy": FigureLimit(low=25.0, unit="dB"),
    "hum": FigureLimit(high=-35.0, unit="dB"),
    "dull": FigureLimit(low=-27.0, unit="dB", severity=ADVICE),
    "thin": FigureLimit(high=6.0, unit="dB", severity=ADVICE),
    "outside": FigureLimit(low=0.1, unit="of power", severity=ADVICE),
}
"""Kinds of findings about figures, with their limits; drill.sending.review assigns the figures."""


def figure_findings(figures: Mapping[str, float | None]) -> Iterator[Finding]:
    """Yield a finding for every figure beyond its limit.

    figures: by the keys of FIGURE_LIMITS, None for figures that were not measured.
    """
    for kind, limit in FIGURE_LIMITS.items():
        figure = figures[kind]
        if figure is not None and not limit.allows(figure):
            yield Finding(
                kind=kind, severity=limit.severity, figure=round(figure, 4), unit=limit.unit
            )
