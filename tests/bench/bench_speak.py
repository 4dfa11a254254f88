"""How long from the end of a take to its feedback, and to the far end. By hand.

python tests/bench/bench_speak.py [TAKES]: medians and worst of takes of about 5 s, wall and CPU
time, with the grammar of a prompt that is new each time, as in the drill. Goal: feedback under 1 s
on two cores.
"""

import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from drill.core.conditions import Conditions
from drill.recogniser import find_recogniser
from drill.sending.far import far_ends
from drill.sending.models import Take
from drill.sending.prompts import prompt, station
from drill.sending.review import review
from drill.voices.operators import find_operator
from phonetics.exchanges import load_exchange
from tests.tools.defects import DEFECTS, spoilt

LEAST_S = 4.0
NAMES = ("none", "wrong word")


def takes(count: int) -> dict[str, list[Take]]:
    """Return takes of each kind, 4 s or longer."""
    at = station("E87ABC", load_exchange("serial"))
    found: dict[str, list[Take]] = {name: [] for name in NAMES}
    for name, kept in found.items():
        seed = 0
        while len(kept) < count:
            take = spoilt(prompt("answer", at, seed), find_operator("maple"), DEFECTS[name], seed)
            seed += 1
            if take.clip.seconds >= LEAST_S:
                kept.append(take)
    return found


def main(count: int) -> None:
    """Print the times."""
    listener = find_recogniser()
    began = time.perf_counter()
    listener.problem()
    print(f"loading the listener, once: {time.perf_counter() - began:.2f} s")
    for name, made in takes(count).items():
        walls, cpus = [], []
        for take in made:
            wall, cpu = time.perf_counter(), time.process_time()
            review(take, listener)
            walls.append(time.perf_counter() - wall)
            cpus.append(time.process_time() - cpu)
        length = np.mean([take.clip.seconds for take in made])
        print(
            f"{name}: {count} takes of {length:.1f} s, feedback after {np.median(walls):.2f} s "
            f"(worst {max(walls):.2f}), CPU {np.median(cpus):.2f} s"
        )
    take = made[0]
    wall = time.perf_counter()
    far_ends(take.clip, take.prompt, Conditions(), path_snr_db=10, seed=1)
    wall = time.perf_counter() - wall
    print(f"far end at three powers, reference voice spoken anew: {wall:.2f} s")
    wall = time.perf_counter()
    far_ends(take.clip, take.prompt, Conditions(), path_snr_db=10, seed=1)
    print(f"the same, reference in the cache: {time.perf_counter() - wall:.2f} s")


if __name__ == "__main__":
    import os

    with TemporaryDirectory() as home:
        os.environ["FAINTCALL_HOME"] = str(Path(home))
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
