"""The verdicts of the voice gate as a table in Markdown."""

import math
from collections.abc import Sequence

import numpy as np

from drill.voices.people.styles import apply_style_to_operator
from tests.tools.voice_gate.judge import MAX_ABOVE_MEDIAN_DB
from tests.tools.voice_gate.work import RECOGNISERS, OperatorResult

TABLE_HEADER = (
    "| operator | engine | accent | vocal style | pitch Hz | measured Hz | words | "
    + " | ".join(f"{name} %" for name in RECOGNISERS)
    + " | x50 dB | verdict |",
    "|" + "---|" * (9 + len(RECOGNISERS)),
)
PASSES = "passes"


def median_threshold_db(results: Sequence[OperatorResult]) -> float:
    """Return the median threshold of the natural operators, NaN if there is none."""
    thresholds = [r.threshold_db for r in results if r.operator.engine == "natural"]
    known = [threshold for threshold in thresholds if not math.isnan(threshold)]
    return float(np.median(known)) if known else float("nan")


def verdict(result: OperatorResult, median_db: float) -> str:
    """Return PASSES, or what the operator fails: names of recognisers and "noise"."""
    failures = [name for name, count in result.counts.items() if not count.passed]
    if not result.threshold_db <= median_db + MAX_ABOVE_MEDIAN_DB:
        failures.append("noise")
    return f"fails: {', '.join(failures)}" if failures else PASSES


def table_row(result: OperatorResult, median_db: float) -> str:
    """Return the row of an operator."""
    operator = result.operator
    shares = " | ".join(f"{100 * result.counts[name].share_right:.1f}" for name in RECOGNISERS)
    return (
        f"| {operator.name} | {operator.engine} | {operator.accent or '-'} "
        f"| {operator.vocal_style} | {apply_style_to_operator(operator).pitch_hz:.0f} "
        f"| {result.pitch_hz:.0f} | {result.counts[RECOGNISERS[0]].words} | {shares} "
        f"| {result.threshold_db:.1f} | {verdict(result, median_db)} |"
    )


def table_lines(results: Sequence[OperatorResult]) -> list[str]:
    """Return the table of all results."""
    median_db = median_threshold_db(results)
    return [*TABLE_HEADER, *(table_row(result, median_db) for result in results)]
