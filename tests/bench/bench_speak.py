"""Time from the end of a take to its review, and time to simulate the far end. Run by hand.

python tests/bench/bench_speak.py [TAKES]: median and longest wall time and median CPU time for
takes of about 5 s. Every take has a new prompt and thus a new grammar, as in the drill. Goal: a
review within 1 s on two cores.
"""

import os
import sys
import time
from collections.abc import Callable
from tempfile import TemporaryDirectory

import numpy as np

from drill.core.conditions import Conditions
from drill.recogniser import Recogniser, find_recogniser
from drill.sending.far_copies import copy_far_ends
from drill.sending.far_end import simulate_far_ends
from drill.sending.models import Take
from drill.sending.own_station import make_own_station
from drill.sending.prompts import compose_prompt
from drill.sending.review import review_take
from drill.voices.operators import find_operator
from phonetics.exchanges import load_exchange
from tests.tools.defects import DEFECTS, spoil_take

MIN_TAKE_SECONDS = 4.0
DEFECT_NAMES = ("wrong word", "none")


def make_takes(defect_name: str, count: int) -> list[Take]:
    """Return takes with a defect, each at least MIN_TAKE_SECONDS long."""
    station = make_own_station("E87ABC", load_exchange("serial"))
    operator, defect = find_operator("maple"), DEFECTS[defect_name]
    takes: list[Take] = []
    seed = 0
    while len(takes) < count:
        take = spoil_take(compose_prompt("answer", station, seed), operator, defect, seed)
        seed += 1
        if take.clip.seconds >= MIN_TAKE_SECONDS:
            takes.append(take)
    return takes


def measure_s(action: Callable[[], object]) -> tuple[float, float]:
    """Return wall time and CPU time of an action in seconds."""
    wall, cpu = time.perf_counter(), time.process_time()
    action()
    return time.perf_counter() - wall, time.process_time() - cpu


def print_review_times(defect_name: str, takes: list[Take], recogniser: Recogniser) -> None:
    """Print how long the reviews of takes need."""
    times = [measure_s(lambda take=take: review_take(take, recogniser)) for take in takes]
    walls, cpus = zip(*times, strict=True)
    length_s = np.mean([take.clip.seconds for take in takes])
    print(
        f"{defect_name}: {len(takes)} takes of {length_s:.1f} s, review after "
        f"{np.median(walls):.2f} s (longest {max(walls):.2f}), CPU {np.median(cpus):.2f} s"
    )


def main(count: int) -> None:
    """Print the times of reviews and of the far end."""
    recogniser = find_recogniser()
    print(f"loading the recogniser, once: {measure_s(recogniser.problem)[0]:.2f} s")
    for name in DEFECT_NAMES:
        takes = make_takes(name, count)
        print_review_times(name, takes, recogniser)
    take = takes[0]
    for label in ("reference voice synthesised", "reference voice from the cache"):
        wall_s, cpu_s = measure_s(
            lambda: simulate_far_ends(take.clip, take.prompt, Conditions(), path_snr_db=10, seed=1)
        )
        print(f"far end at three powers, {label}: {wall_s:.2f} s, CPU {cpu_s:.2f} s")
    exchange = load_exchange(take.prompt.exchange)
    wall_s, cpu_s = measure_s(
        lambda: copy_far_ends(
            take.clip, take.prompt, exchange, Conditions(), recogniser, path_snr_db=10, seed=1
        )
    )
    print(f"copied in ten tries at three powers: {wall_s:.2f} s, CPU {cpu_s:.2f} s")


if __name__ == "__main__":
    with TemporaryDirectory() as home:
        os.environ["FAINTCALL_HOME"] = home
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
