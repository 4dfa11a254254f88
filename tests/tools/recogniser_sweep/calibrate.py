"""Fits the curves of drill.recogniser.own.calibration to voices kept for validation.

python -m tests.tools.recogniser_sweep.calibrate SETS: prints slope and offset for whole results and
for single units, and how far the shares of right answers are from the confidences.
"""

import argparse
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from drill.recogniser.language import call_grammar
from drill.recogniser.own import calibration
from drill.recogniser.own.calibration import Calibration
from drill.recogniser.own.engine import OwnRecogniser
from tests.tools.recogniser_sweep.sweep import Cell, received
from tests.tools.recogniser_sweep.test_sets import read_set

TEST_SET = "studio-validation"
SNRS_DB = (None, 6.0, 0.0, -3.0, -6.0, -9.0)
PLAIN = Calibration(slope=1.0, offset=0.0)
LIMIT = 1e-6

Pairs = list[tuple[float, bool]]


def log_odds(probabilities: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the log odds of probabilities, kept LIMIT away from 0 and 1."""
    kept = np.clip(probabilities, LIMIT, 1 - LIMIT)
    return np.asarray(np.log(kept / (1 - kept)))


def fit_calibration(pairs: Sequence[tuple[float, bool]]) -> Calibration:
    """Return the logistic curve that fits (probability, right) best, by likelihood."""
    odds = log_odds(np.asarray([probability for probability, _ in pairs]))
    right = np.asarray([float(correct) for _, correct in pairs])

    def loss(curve: NDArray[np.float64]) -> float:
        scores = curve[0] * odds + curve[1]
        return float((np.logaddexp(0, scores) - right * scores).mean())

    slope, offset = minimize(loss, (1.0, 0.0)).x
    return Calibration(slope=round(float(slope), 3), offset=round(float(offset), 3))


def calibration_error(pairs: Sequence[tuple[float, bool]], curve: Calibration) -> float:
    """Return the mean distance between confidence and share right over ten equal groups."""
    ordered = sorted((curve.share_right(probability), correct) for probability, correct in pairs)
    groups = np.array_split(np.asarray(ordered, np.float64), 10)
    return float(np.mean([abs(group[:, 0].mean() - group[:, 1].mean()) for group in groups]))


def collect(sets: Path, count: int) -> tuple[Pairs, Pairs]:
    """Return (probability, right) of whole results and of units, over the validation voices.

    Units come from results of the right length; each is compared with the character in its place.
    """
    clips = read_set(sets / f"{TEST_SET}.npz")[:count]
    recogniser = OwnRecogniser(sequence_calibration=PLAIN, unit_calibration=PLAIN)
    grammar = call_grammar(alternates=True)
    whole: Pairs = []
    units: Pairs = []
    for snr_db in SNRS_DB:
        cell = Cell(test_set=TEST_SET, condition="steady", snr_db=snr_db)
        for number, labelled in enumerate(clips):
            result = recogniser.transcribe(received(clips, number, cell), grammar)
            said = labelled.label.call
            whole.append((result.confidence, result.text == said))
            if len(result.units) == len(said):
                units += [
                    (unit.confidence, unit.name == character)
                    for unit, character in zip(result.units, said, strict=True)
                ]
    return whole, units


def main() -> None:
    """Print the curves."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sets", type=Path)
    parser.add_argument("--count", type=int, default=200)
    arguments = parser.parse_args()
    for name, pairs in zip(
        ("SEQUENCE", "UNIT"), collect(arguments.sets, arguments.count), strict=True
    ):
        curve = fit_calibration(pairs)
        shipped = getattr(calibration, name)
        print(
            f"{name}: {len(pairs)} results, {curve}, "
            f"mean error {calibration_error(pairs, curve):.3f}; "
            f"uncalibrated {calibration_error(pairs, PLAIN):.3f}, "
            f"shipped {calibration_error(pairs, shipped):.3f}"
        )


if __name__ == "__main__":
    main()
