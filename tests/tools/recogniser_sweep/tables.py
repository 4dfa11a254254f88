"""Tables of a sweep in Markdown: shares with 95 % intervals, thresholds, areas under the ROC."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from scipy.optimize import minimize
from scipy.stats import rankdata

from tests.tools.recogniser_sweep.sweep import (
    Cell,
    Row,
    read_results,
    share_of_symbols,
    share_right,
)

CLEAN_DB = 40.0
"""SNR that stands for a clip without noise in fits."""
DRAWS = 200


def wilson_interval(right: int, count: int) -> tuple[float, float]:
    """Return the 95 % interval of a share. Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927)."""
    z = 1.959964
    share, base = right / count, 1 + z * z / count
    middle = (share + z * z / (2 * count)) / base
    half = z / base * np.sqrt(share * (1 - share) / count + z * z / (4 * count**2))
    return float(middle - half), float(middle + half)


def area_under_roc(rows: Sequence[Row]) -> float | None:
    """Return the chance that a right result has more confidence than a wrong one; None if all are
    right or all wrong. Source: Mann and Whitney's statistic.
    """
    right = np.asarray([row.right for row in rows])
    if right.all() or not right.any():
        return None
    ranks = rankdata([row.confidence for row in rows])
    wins = ranks[right].sum() - right.sum() * (right.sum() + 1) / 2
    return float(wins / (right.sum() * (~right).sum()))


def threshold_db(snr_db: Sequence[float], shares: Sequence[float], counts: Sequence[int]) -> float:
    """Return the SNR of 50 % on a logistic curve with an upper limit, fitted by likelihood.

    The limit, from 0.5 to 1, is fitted too; the threshold is the SNR at which the fitted curve
    reaches 50 %, NaN if it stays below.
    """
    x, y, n = (np.asarray(values, float) for values in (snr_db, shares, counts))

    def curve(p: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> np.ndarray:
        top = 0.5 + 0.5 / (1 + np.exp(-p[2]))
        return np.asarray(top / (1 + np.exp(-np.exp(p[1]) * (x - p[0]))))

    def loss(p: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> float:
        q = np.clip(curve(p), 1e-6, 1 - 1e-6)
        return float(-(n * (y * np.log(q) + (1 - y) * np.log(1 - q))).sum() + 0.01 * p[2] ** 2)

    fits = [minimize(loss, (start, -1.0, 2.0), method="Nelder-Mead") for start in (-6, -3, 0, 4)]
    best = min(fits, key=lambda fit: fit.fun).x
    top = 0.5 + 0.5 / (1 + np.exp(-best[2]))
    if top <= 0.501:
        return float("nan")
    return float(best[0] - np.log(top / 0.5 - 1) / np.exp(best[1]))


def threshold_with_interval(
    cells: Sequence[tuple[float, Sequence[Row]]], *, symbols: bool, draws: int = DRAWS
) -> tuple[float, float, float]:
    """Return the 50 % threshold in dB and its 95 % interval by resampling clips (bootstrap)."""
    rng = np.random.default_rng(1)

    def fit(chosen: Sequence[Sequence[Row]]) -> float:
        shares = [
            max(0.0, share_of_symbols(rows)) if symbols else share_right(rows) for rows in chosen
        ]
        return threshold_db([snr for snr, _ in cells], shares, [len(rows) for rows in chosen])

    middle = fit([rows for _, rows in cells])
    again = [
        fit([[rows[k] for k in rng.integers(len(rows), size=len(rows))] for _, rows in cells])
        for _ in range(draws)
    ]
    low, high = np.nanpercentile(again, [2.5, 97.5])
    return middle, float(low), float(high)


def markdown_tables(results: Path, draws: int = DRAWS) -> str:
    """Return a table for each condition: a row for each set, a column for each SNR."""
    found = read_results(results)
    lines: list[str] = []
    for condition in sorted({cell.condition for cell in found}):
        lines += [*_table(found, condition, draws), ""]
    return "\n".join(lines)


def _table(found: dict[Cell, list[Row]], condition: str, draws: int) -> list[str]:
    cells = [cell for cell in found if cell.condition == condition]
    snrs = sorted({CLEAN_DB if c.snr_db is None else c.snr_db for c in cells}, reverse=True)
    heads = ["clean" if snr == CLEAN_DB else f"{snr:+g} dB" for snr in snrs]
    lines = [
        f"Condition: {condition}",
        "",
        f"| set | n | {' | '.join(heads)} | x50 symbols | x50 items | ROC |",
        "|---|---|" + "---|" * (len(heads) + 3),
    ]
    for name in sorted({cell.test_set for cell in cells}):
        by_snr = {
            (CLEAN_DB if c.snr_db is None else c.snr_db): found[c]
            for c in cells
            if c.test_set == name
        }
        shown = []
        for snr in snrs:
            rows = by_snr.get(snr)
            if not rows:
                shown.append("")
                continue
            right = sum(row.right for row in rows)
            low, high = wilson_interval(right, len(rows))
            shown.append(
                f"{100 * share_of_symbols(rows):.0f} / {100 * right / len(rows):.0f} "
                f"({100 * low:.0f}-{100 * high:.0f})"
            )
        points = sorted(by_snr.items())
        fits = [_fit_text(points, symbols, draws) for symbols in (True, False)]
        area = area_under_roc([row for _, rows in points for row in rows])
        count = len(points[0][1])
        lines.append(
            f"| {name} | {count} | {' | '.join(shown)} | {' | '.join(fits)} | "
            f"{'' if area is None else f'{area:.2f}'} |"
        )
    return lines


def _fit_text(points: Sequence[tuple[float, Sequence[Row]]], symbols: bool, draws: int) -> str:
    if len(points) < 4:
        return ""
    middle, low, high = threshold_with_interval(points, symbols=symbols, draws=draws)
    return "none" if np.isnan(middle) else f"{middle:.1f} ({low:.1f} to {high:.1f})"
