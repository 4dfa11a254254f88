"""Speed of the psychometrics. Run by hand: python tests/bench/bench_psychometrics.py

Machines differ, so compare ratios within one run, never figures of two runs. The unit is 100 sums
over as many cells as the grid has. Goals: next level below 20 ms, a fit of 60 trials below 10 ms,
of 200 trials below 200 ms.
"""

import os
import time
from collections.abc import Callable

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one thread, as the command line sets it

import numpy as np

from drill.psychometrics.character_threshold import CharacterTrial, fit_character_threshold
from drill.psychometrics.grid import LAPSE_GRID, SLOPE_GRID_PER_DB, Prior
from drill.psychometrics.label_costs import Observation, estimate_label_costs
from drill.psychometrics.placement import Placement, next_level
from drill.psychometrics.posterior import fit, pool
from tests.tools.simulated_listeners import ASSUMED_CURVE, simulated_block

ROUNDS = 7


def shortest_ms(call: Callable[[], object]) -> float:
    """Return the shortest wall time of several calls in ms, after one to warm up."""
    call()
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return 1000 * min(times)


def main() -> None:
    """Print the table."""
    rng = np.random.default_rng(1)
    trials = simulated_block(200, 1)
    blocks = [simulated_block(60, seed) for seed in range(20)]
    check = [
        CharacterTrial(snr_db=trial.snr_db, right=int(rng.binomial(6, 0.8)), sent=6)
        for trial in trials[:30]
    ]
    observations = [
        Observation(label=chr(65 + n % 36), snr_db=trials[n % 200].snr_db, right=float(n % 4 > 0))
        for n in range(50_000)
    ]
    cells = np.zeros(len(Prior().threshold_grid_db) * len(SLOPE_GRID_PER_DB) * len(LAPSE_GRID))
    calls: dict[str, Callable[[], object]] = {
        "unit: 100 sums over the grid": lambda: [cells + cells for _ in range(100)],
        "next level after 60 trials": lambda: next_level(Placement(seed=1), trials[:60]),
        "fit of 60 trials": lambda: fit(trials[:60], Prior(), rng),
        "fit of 200 trials": lambda: fit(trials, Prior(), rng),
        "pool of 20 blocks of 60": lambda: pool(blocks, Prior(), rng),
        "quick check of 30 items": lambda: fit_character_threshold(check),
        "costs of 36 labels, 50,000 times": lambda: estimate_label_costs(
            observations, ASSUMED_CURVE
        ),
    }
    times_ms = {name: shortest_ms(call) for name, call in calls.items()}
    unit_ms = next(iter(times_ms.values()))
    print(f"{'':34} {'ms':>8} {'units':>8}")
    for name, ms in times_ms.items():
        print(f"{name:34} {ms:8.2f} {ms / unit_ms:8.2f}")


if __name__ == "__main__":
    main()
