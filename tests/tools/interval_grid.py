"""Coverage of the 95 % intervals for every kind of listener in GRID_LISTENERS.

Each simulated person takes one measurement block and one quick check, both with a start that is
off by START_SD_DB (SD). Nobody's threshold changes, so a change found between two people of one
kind, each relative to their own true threshold, is a false change.
"""

import ast
import hashlib
import json
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from tqdm import tqdm

from drill.core.arrays import FloatArray
from drill.psychometrics import (
    character_threshold,
    checks,
    curve,
    grid,
    intervals,
    placement,
    posterior,
)
from drill.psychometrics.character_threshold import (
    CHARACTER_TARGET,
    CHECK_TARGETS,
    QUICK_CHECK_ITEMS,
    fit_character_threshold,
)
from drill.psychometrics.grid import Prior
from drill.psychometrics.intervals import Quantity, smallest_detectable_change
from drill.psychometrics.placement import Placement
from drill.psychometrics.posterior import fit
from tests.tools import simulated_listeners
from tests.tools.simulated_listeners import (
    GRID_LISTENERS,
    ShapedCurve,
    SimulatedListener,
    take_block,
    take_check,
)

CODE_THAT_MATTERS = (
    character_threshold,
    checks,
    curve,
    grid,
    intervals,
    placement,
    posterior,
    simulated_listeners,
)
"""Modules whose changes make stored results invalid."""
MEASUREMENT_ITEMS = 60
START_SD_DB = 3.0
THRESHOLD_JITTER_DB = 0.5
"""Thresholds vary by this much between people, so that they do not all lie on the grid."""
QUANTITIES = ("x50", "x80", "character threshold")
MAX_BIAS_DB = 0.5
"""A bias above this is too large for one kind of listener."""


@dataclass(frozen=True, kw_only=True, slots=True)
class GridQuality:
    """Quality of one quantity over many people of one kind or several.

    coverage: proportion of 95 % intervals that contain the true value. bias, sd: of the error in
    dB. width: median width of the interval in dB. false_changes: proportion of pairs of people
    whose difference exceeds the smallest detectable change. n: number of people.
    """

    coverage: float
    bias: float
    sd: float
    width: float
    false_changes: float
    n: int

    @property
    def bias_error(self) -> float:
        """Standard error of the bias, in dB."""
        return float(self.sd / np.sqrt(self.n))


def simulate_grid_person(job: tuple[int, int]) -> list[list[float]]:
    """Return error, low end and high end relative to the true value, and SD, for QUANTITIES.

    job: index of the listener and seed. All figures are in dB.
    """
    index, seed = job
    rng = np.random.default_rng([index, seed])
    listener = GRID_LISTENERS[index]
    jitter_db = rng.uniform(-THRESHOLD_JITTER_DB, THRESHOLD_JITTER_DB)
    curve = replace(listener.curve, x50_db=listener.curve.x50_db + jitter_db)
    person = replace(listener, curve=curve)
    x50_db, x80_db, x75_db = (true_db + jitter_db for true_db in _true_levels_db(index))
    prior = Prior(threshold_mean_db=x50_db + START_SD_DB * rng.standard_normal())
    block = take_block(person, Placement(seed=seed, prior=prior), MEASUREMENT_ITEMS, rng)
    estimate = fit(block, prior.for_estimates(), rng)
    check_rng = np.random.default_rng([index, seed, 1])
    start_db = x75_db + START_SD_DB * check_rng.standard_normal()
    check = take_check(person, start_db, QUICK_CHECK_ITEMS, CHECK_TARGETS, check_rng)
    threshold = fit_character_threshold(check, start_db).threshold_db
    return [
        _relative(quantity, true_db)
        for quantity, true_db in (
            (estimate.x50_db, x50_db),
            (estimate.x80_db, x80_db),
            (threshold, x75_db),
        )
    ]


@lru_cache(maxsize=len(GRID_LISTENERS))
def _true_levels_db(index: int) -> tuple[float, float, float]:
    """Return x50, x80 and character threshold of a listener of the grid in dB."""
    listener = GRID_LISTENERS[index]
    return listener.snr_at(0.5), listener.snr_at(0.8), listener.snr_at(CHARACTER_TARGET)


def _relative(quantity: Quantity, true_db: float) -> list[float]:
    figures = (quantity.value - true_db, quantity.low - true_db, quantity.high - true_db)
    return [round(figure, 4) for figure in (*figures, quantity.sd)]


def simulate_grid(
    people: int, seed: int, processes: int | None, listeners: Sequence[int] | None = None
) -> dict[int, FloatArray]:
    """Return the figures by index of the listener, each of shape (people, 3 quantities, 4).

    Finished listeners are kept in a file in the temporary folder, so that an interrupted run can be
    repeated; the file belongs to this seed and this source code.
    """
    wanted = range(len(GRID_LISTENERS)) if listeners is None else listeners
    path = kept_results_file(seed)
    kept = _read_results(path)
    jobs_by_listener = {
        index: [(index, seed + number) for number in range(len(kept.get(index, ())), people)]
        for index in wanted
    }
    with ProcessPoolExecutor(processes) as executor, path.open("a", encoding="utf-8") as file:
        left = sum(map(len, jobs_by_listener.values()))
        with tqdm(total=left, desc="people", file=sys.stderr, mininterval=5) as progress:
            for index, jobs in jobs_by_listener.items():
                for figures in executor.map(simulate_grid_person, jobs, chunksize=10):
                    kept.setdefault(index, []).append(figures)
                    file.write(json.dumps([index, figures]) + "\n")
                    progress.update()
                file.flush()
    return {index: np.array(kept[index][:people]) for index in wanted}


def kept_results_file(seed: int) -> Path:
    """Return the file with the results of finished people for a seed and the present source code.

    Comments and docstrings make no difference.
    """
    digest = hashlib.sha256()
    for module in CODE_THAT_MATTERS:
        tree = ast.parse(Path(module.__file__ or "").read_text("utf-8"))
        for node in ast.walk(tree):
            body = getattr(node, "body", None)
            if isinstance(body, list):
                body[:] = [part for part in body if not _is_docstring(part)]
        digest.update(ast.dump(tree).encode())
    name = f"faintcall-intervals-{seed}-{digest.hexdigest()[:12]}.jsonl"
    return Path(tempfile.gettempdir()) / name


def _is_docstring(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _read_results(path: Path) -> dict[int, list[list[list[float]]]]:
    """Return the results of finished people by listener; an unfinished last line is ignored."""
    results: dict[int, list[list[list[float]]]] = {}
    if path.exists():
        *lines, _unfinished = path.read_text("utf-8").split("\n")
        path.write_text("".join(f"{line}\n" for line in lines), "utf-8")
        for line in lines:
            index, figures = json.loads(line)
            results.setdefault(index, []).append(figures)
    return results


def grid_quality(figures: FloatArray) -> GridQuality:
    """Return the quality of one quantity; figures: shape (people, 4), pairs being of one kind."""
    error, low, high, sd = figures.T
    pairs = list(zip(range(0, len(error) - 1, 2), range(1, len(error), 2), strict=True))
    false = [abs(error[a] - error[b]) >= smallest_detectable_change(sd[a], sd[b]) for a, b in pairs]
    return GridQuality(
        coverage=float(np.mean((low <= 0) & (high >= 0))),
        bias=float(error.mean()),
        sd=float(error.std()),
        width=float(np.median(high - low)),
        false_changes=float(np.mean(false)),
        n=len(error),
    )


def _shape_of(listener: SimulatedListener) -> str:
    return listener.curve.shape if isinstance(listener.curve, ShapedCurve) else "logistic"


def listener_groups() -> Iterator[tuple[str, list[int]]]:
    """Yield each group of listeners that is pooled: its label, and the listeners' indices."""
    values: dict[str, Callable[[SimulatedListener], Any]] = {
        "slope {:.0%} per dB": lambda listener: listener.curve.slope_per_db,
        "lapses {:.0%}": lambda listener: listener.curve.lapse,
        "{}": _shape_of,
        "item spread {:g} dB": lambda listener: listener.shift_sd_db,
    }
    for label, key in values.items():
        for value in dict.fromkeys(map(key, GRID_LISTENERS)):
            members = [i for i, listener in enumerate(GRID_LISTENERS) if key(listener) == value]
            yield label.format(value), members


def grid_table_lines(results: dict[int, FloatArray]) -> Iterator[str]:
    """Yield the Markdown tables line by line: groups, then listeners with the worst coverage."""
    yield f"{min(map(len, results.values()))} people of each kind."
    yield ""
    head = " | ".join(f"{quantity}: coverage, bias / SD, width, false" for quantity in QUANTITIES)
    yield f"| people | {head} |"
    yield "|---|" + "---|" * len(QUANTITIES)
    for label, members in listener_groups():
        pooled = np.concatenate([results[index] for index in members])
        cells = [_cell(grid_quality(pooled[:, q])) for q in range(len(QUANTITIES))]
        yield f"| {label} | " + " | ".join(cells) + " |"
    yield ""
    yield "| figure | worst listener (slope, lapses, shape, spread in dB) | value |"
    yield "|---|---|---|"
    for q, quantity in enumerate(QUANTITIES):
        qualities = {index: grid_quality(figures[:, q]) for index, figures in results.items()}
        lowest = min(qualities, key=lambda index: qualities[index].coverage)
        largest = max(qualities, key=lambda index: abs(qualities[index].bias))
        below = sum(quality.coverage < 0.9 for quality in qualities.values())
        yield (
            f"| lowest coverage of {quantity} | {GRID_LISTENERS[lowest].name} | "
            f"{qualities[lowest].coverage:.3f}; {below} of {len(qualities)} below 0.90 |"
        )
        beyond = [quality for quality in qualities.values() if abs(quality.bias) > MAX_BIAS_DB]
        certain = sum(abs(each.bias) - 2 * each.bias_error > MAX_BIAS_DB for each in beyond)
        yield (
            f"| largest bias of {quantity} | {GRID_LISTENERS[largest].name} | "
            f"{qualities[largest].bias:+.2f} +- {qualities[largest].bias_error:.2f} dB; "
            f"{len(beyond)} of {len(qualities)} beyond {MAX_BIAS_DB} dB, {certain} of them by more "
            "than two standard errors |"
        )


def _cell(quality: GridQuality) -> str:
    return (
        f"{quality.coverage:.3f}, {quality.bias:+.2f} / {quality.sd:.2f}, {quality.width:.1f}, "
        f"{quality.false_changes:.3f}"
    )
