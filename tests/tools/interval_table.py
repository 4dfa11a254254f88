"""How good the measurement is: python -m tests.tools.interval_table prints it as Markdown.

Each simulated person takes a block of ITEMS items, started from a guess that is wrong by START_DB
(SD), then a second one that starts from the remembered slope. "Two pooled" is one fit of both.
"""

import argparse
import os
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one process a core; threads are in the way

import numpy as np

from drill.psychometrics.curve import Floats
from drill.psychometrics.grid import Prior
from drill.psychometrics.placement import Placement
from drill.psychometrics.posterior import Estimate, fit, pool, prior_from_estimates
from tests.tools.simulated_listeners import LISTENERS, SimulatedListener, take_block

ITEMS = 60
START_DB = 3.0
JITTER_DB = 0.5
PEOPLE = 2000
SEED = 20
STAGES = ("first block", "two pooled", "later block")
FIGURES = ("x50", "x80", "slope")


@dataclass(frozen=True, kw_only=True, slots=True)
class Quality:
    """Bias and SD (dB; per dB for the slope), share of intervals that hold the truth, and width."""

    bias: float
    sd: float
    coverage: float
    width: float


def _row(estimate: Estimate, truth: Floats) -> Floats:
    """Return (3, 3): for x50, x80 and slope the error, whether the interval holds, its width."""
    figures = (estimate.x50_db, estimate.x80_db, estimate.slope_per_db)
    return np.array(
        [
            (f.value - true, f.low <= true <= f.high, f.high - f.low)
            for f, true in zip(figures, truth, strict=True)
        ]
    )


def person(job: tuple[SimulatedListener, int]) -> Floats:
    """Return what one simulated person's blocks gave, shape (3 stages, 3 figures, 3)."""
    listener, seed = job
    rng = np.random.default_rng(seed)
    moved = listener.curve.x50_db + rng.uniform(-JITTER_DB, JITTER_DB)
    one = replace(listener, curve=replace(listener.curve, x50_db=moved))
    x50 = one.at(0.5)
    slope = (one.average(x50 + 0.01) - one.average(x50 - 0.01)) / 0.02
    truth = np.array([x50, one.at(0.8), slope])
    prior = Prior(threshold_mean_db=moved + START_DB * rng.standard_normal())
    first = take_block(one, Placement(seed=seed, prior=prior), ITEMS, rng)
    estimate = fit(first, prior, rng)
    known = prior_from_estimates([estimate])
    second = take_block(one, Placement(seed=seed + 1, prior=known), ITEMS, rng)
    fits = (estimate, pool([first, second], prior, rng), fit(second, known, rng))
    return np.stack([_row(f, truth) for f in fits])


def people(listener: SimulatedListener, count: int, seed: int) -> Iterator[Floats]:
    """Yield what so many people gave, in parallel processes; one seed, one result."""
    jobs = [(listener, 1_000_003 * seed + 7 * i) for i in range(count)]
    with ProcessPoolExecutor(os.cpu_count()) as pool_of_processes:
        yield from pool_of_processes.map(person, jobs, chunksize=20)


def judge(rows: Iterable[Floats]) -> dict[tuple[str, str], Quality]:
    """Return the quality of each stage and figure."""
    table = np.stack(list(rows))
    return {
        (stage, figure): Quality(
            bias=float(table[:, s, f, 0].mean()),
            sd=float(table[:, s, f, 0].std()),
            coverage=float(table[:, s, f, 1].mean()),
            width=float(np.median(table[:, s, f, 2])),
        )
        for s, stage in enumerate(STAGES)
        for f, figure in enumerate(FIGURES)
    }


def main() -> None:
    """Print the table."""
    from tqdm import tqdm

    parser = argparse.ArgumentParser(
        prog="python -m tests.tools.interval_table", description=__doc__
    )
    parser.add_argument("--people", type=int, default=PEOPLE, help="of each kind (%(default)s)")
    parser.add_argument("--seed", type=int, default=SEED, help="(%(default)s)")
    args = parser.parse_args()
    print("| listener | stage | " + " | ".join(f"{f} bias / SD, coverage" for f in FIGURES) + " |")
    print("|---|---|---|---|---|")
    for listener in LISTENERS:
        rows = people(listener, args.people, args.seed)
        done = judge(tqdm(rows, total=args.people, desc=listener.name, file=sys.stderr))
        for stage in STAGES:
            cells = [
                f"{q.bias:+.{2 + (figure == 'slope')}f} / {q.sd:.{2 + (figure == 'slope')}f}, "
                f"{q.coverage:.3f}"
                for figure in FIGURES
                for q in [done[stage, figure]]
            ]
            print(f"| {listener.name} | {stage} | " + " | ".join(cells) + " |", flush=True)


if __name__ == "__main__":
    main()
