"""Tables of bias, SD and interval coverage of measurement and quick check, for simulated listeners.

    python -m tests.tools.interval_table --into tests/measured/intervals.md

First table, by `interval_grid`: one block and one check by each kind of listener in a grid of
slopes, lapse rates, shapes and item spreads. If the run is interrupted, repeat it; finished results
are kept.

Second table: each simulated person takes a block of ITEMS items whose prior mean is off by
START_SD_DB (SD), then a second block with the remembered slope. "Two pooled" is one fit of both
blocks.
"""

import argparse
import os
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one process per core; threads would compete

import numpy as np
from tqdm import tqdm

from drill.core.arrays import FloatArray
from drill.psychometrics.grid import Prior
from drill.psychometrics.placement import Placement
from drill.psychometrics.posterior import Estimate, fit, pool
from drill.psychometrics.remembered_prior import prior_from_estimates
from tests.tools.interval_grid import MEASUREMENT_ITEMS as ITEMS
from tests.tools.interval_grid import (
    START_SD_DB,
    THRESHOLD_JITTER_DB,
    grid_table_lines,
    simulate_grid,
)
from tests.tools.simulated_listeners import LISTENERS, SimulatedListener, take_block
from tests.tools.tables import write_table

PEOPLE = 400
GRID_PEOPLE = 300
SEED = 22
GRID_SEED = 8000
"""The priors were tuned on other simulated people."""
STAGES = ("first block", "two pooled", "later block")
QUANTITIES = ("x50", "x80", "slope")


@dataclass(frozen=True, kw_only=True, slots=True)
class Quality:
    """Quality of an estimate over many simulated people.

    bias, sd: of the error, in dB (per dB for the slope). coverage: proportion of 95 % intervals
    that contain the true value. width: median width of the interval.
    """

    bias: float
    sd: float
    coverage: float
    width: float


def _errors(estimate: Estimate, truth: FloatArray) -> FloatArray:
    """Return error, coverage (0 or 1) and width for x50, x80 and slope, shape (3, 3)."""
    quantities = (estimate.x50_db, estimate.x80_db, estimate.slope_per_db)
    return np.array(
        [
            (q.value - true, q.low <= true <= q.high, q.high - q.low)
            for q, true in zip(quantities, truth, strict=True)
        ]
    )


def simulate_person(job: tuple[SimulatedListener, int]) -> FloatArray:
    """Return the errors of one simulated person, shape (3 stages, 3 quantities, 3).

    job: kind of listener and seed.
    """
    listener, seed = job
    rng = np.random.default_rng(seed)
    threshold_db = listener.curve.x50_db + rng.uniform(-THRESHOLD_JITTER_DB, THRESHOLD_JITTER_DB)
    person = replace(listener, curve=replace(listener.curve, x50_db=threshold_db))
    x50_db = person.snr_at(0.5)
    rise = person.proportion_correct(x50_db + 0.01) - person.proportion_correct(x50_db - 0.01)
    truth = np.array([x50_db, person.snr_at(0.8), rise / 0.02])
    prior = Prior(threshold_mean_db=threshold_db + START_SD_DB * rng.standard_normal())
    first = take_block(person, Placement(seed=seed, prior=prior), ITEMS, rng)
    estimate = fit(first, prior.for_estimates(), rng)
    later_prior = prior_from_estimates([estimate])
    second = take_block(person, Placement(seed=seed + 1, prior=later_prior), ITEMS, rng)
    later_estimate = fit(second, later_prior.for_estimates(), rng)
    estimates = (estimate, pool([first, second], prior.for_estimates(), rng), later_estimate)
    return np.stack([_errors(each, truth) for each in estimates])


def simulate_people(
    listener: SimulatedListener, count: int, seed: int, processes: int | None = None
) -> Iterator[FloatArray]:
    """Yield the errors of `count` people, computed in parallel; they depend only on the seed.

    processes: number of processes, None for one per core.
    """
    jobs = [(listener, 1_000_003 * seed + 7 * i) for i in range(count)]
    with ProcessPoolExecutor(processes) as executor:
        yield from executor.map(simulate_person, jobs, chunksize=20)


def summarise_quality(errors: Iterable[FloatArray]) -> dict[tuple[str, str], Quality]:
    """Return the quality by stage and quantity."""
    table = np.stack(list(errors))
    return {
        (stage, quantity): Quality(
            bias=float(table[:, s, q, 0].mean()),
            sd=float(table[:, s, q, 0].std()),
            coverage=float(table[:, s, q, 1].mean()),
            width=float(np.median(table[:, s, q, 2])),
        )
        for s, stage in enumerate(STAGES)
        for q, quantity in enumerate(QUANTITIES)
    }


def table_lines(people: int, seed: int, processes: int | None) -> Iterator[str]:
    """Yield the Markdown table line by line."""
    yield (
        "| listener | stage | " + " | ".join(f"{q} bias / SD, coverage" for q in QUANTITIES) + " |"
    )
    yield "|---|---|---|---|---|"
    for listener in LISTENERS:
        errors = simulate_people(listener, people, seed, processes)
        progress = tqdm(errors, total=people, desc=listener.name, file=sys.stderr)
        quality = summarise_quality(progress)
        for stage in STAGES:
            cells = [_cell(quality[stage, quantity], quantity) for quantity in QUANTITIES]
            yield f"| {listener.name} | {stage} | " + " | ".join(cells) + " |"


def _cell(quality: Quality, quantity: str) -> str:
    digits = 3 if quantity == "slope" else 2
    return f"{quality.bias:+.{digits}f} / {quality.sd:.{digits}f}, {quality.coverage:.3f}"


def main() -> None:
    """Print the tables, and write them into a file if one is given."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.tools.interval_table",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--people", type=int, default=PEOPLE, help="of each kind (%(default)s)")
    parser.add_argument(
        "--grid-people",
        type=int,
        default=GRID_PEOPLE,
        help="of each kind in the grid (%(default)s)",
    )
    parser.add_argument("--seed", type=int, default=SEED, help="(%(default)s)")
    parser.add_argument(
        "--grid-seed", type=int, default=GRID_SEED, help="of the grid (%(default)s)"
    )
    parser.add_argument("--processes", type=int, help="how many at a time (one per core)")
    parser.add_argument("--into", metavar="FILE", help="replace the tables in this file")
    options = parser.parse_args()
    results = simulate_grid(options.grid_people, options.grid_seed, options.processes)
    write_table(options.into, "grid", list(grid_table_lines(results)))
    lines = table_lines(options.people, options.seed, options.processes)
    write_table(options.into, "intervals", list(lines))


if __name__ == "__main__":
    main()
