"""Confidence as a share of right answers: logistic curves over the network's probabilities.

Networks are overconfident. The curves were fitted to voices kept for validation, at SNRs from -9 dB
up to no noise; see MODEL.md. Source: J. Platt, Probabilistic outputs for support vector machines,
1999.
"""

import math
from dataclasses import dataclass

_LIMIT = 1e-6


@dataclass(frozen=True, slots=True)
class Calibration:
    """A logistic curve of the log odds: share right = 1 / (1 + exp(-(offset + slope log odds)))."""

    slope: float
    offset: float

    def share_right(self, probability: float) -> float:
        """Return the share of right answers among results with this probability of the network."""
        kept = min(max(probability, _LIMIT), 1 - _LIMIT)
        return 1 / (1 + math.exp(-(self.offset + self.slope * math.log(kept / (1 - kept)))))


SEQUENCE = Calibration(slope=1.053, offset=-0.919)
"""For a whole result."""
UNIT = Calibration(slope=0.858, offset=-0.161)
"""For one unit."""
