"""The result of a check: a measured value with its limits and their source."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class CheckedFigure:
    """One measured value, its limits (both included) and the source of the limits."""

    quantity: str
    value: float
    low: float
    high: float
    unit: str
    source: str

    @property
    def passed(self) -> bool:
        """True if the value is within the limits; a NaN is not."""
        return bool(self.low <= self.value <= self.high)
