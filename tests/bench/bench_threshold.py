"""Speed of the measurement's arithmetic; run by hand: python tests/bench/bench_threshold.py

Machines differ: compare ratios within one run, never figures of two. The unit is a plain sum over
as many cells as the grid has, 100 times. Goals: next level under 20 ms, a fit of 60 trials under
10 ms, of 200 trials under 200 ms.
"""

import os
import time
from collections.abc import Callable

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line has it

import numpy as np

from drill.psychometrics.character_threshold import CharacterTrial, fit_character_threshold
from drill.psychometrics.grid import LAPSES, SLOPES, Prior
from drill.psychometrics.label_costs import Observation, offsets
from drill.psychometrics.placement import Placement, next_level
from drill.psychometrics.posterior import fit, pool
from tests.tools.simulated_listeners import ASSUMED, SimulatedListener, take_block

ROUNDS = 7


def least_ms(work: Callable[[], object]) -> float:
    """Return the least wall time of one call in ms."""
    work()
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return 1000 * best


def main() -> None:
    """Print the table."""
    rng = np.random.default_rng(1)
    placement = Placement(seed=1)
    person = SimulatedListener(name="one", curve=ASSUMED)
    trials = take_block(person, placement, 200, rng)
    blocks = [take_block(person, Placement(seed=n), 60, rng) for n in range(20)]
    sent = [
        CharacterTrial(snr_db=t.snr_db, right=int(rng.binomial(6, 0.8)), sent=6)
        for t in trials[:30]
    ]
    seen = [
        Observation(label=chr(65 + n % 36), snr_db=trials[n % 200].snr_db, right=float(n % 4 > 0))
        for n in range(50_000)
    ]
    cells = np.zeros(len(Prior().x50_db) * len(SLOPES) * len(LAPSES))
    work: dict[str, Callable[[], object]] = {
        "unit: 100 sums over the grid": lambda: [cells + cells for _ in range(100)],
        "next level after 60 trials": lambda: next_level(placement, trials[:60]),
        "fit of 60 trials": lambda: fit(trials[:60], Prior(), rng),
        "fit of 200 trials": lambda: fit(trials, Prior(), rng),
        "pool of 20 blocks of 60": lambda: pool(blocks, Prior(), rng),
        "quick check of 30 items": lambda: fit_character_threshold(sent),
        "costs of 36 labels, 50,000 heard": lambda: offsets(seen, ASSUMED),
    }
    took = {name: least_ms(call) for name, call in work.items()}
    unit = next(iter(took.values()))
    print(f"{'':34} {'ms':>8} {'of the unit':>12}")
    for name, ms in took.items():
        print(f"{name:34} {ms:8.2f} {ms / unit:12.2f}")


if __name__ == "__main__":
    main()
