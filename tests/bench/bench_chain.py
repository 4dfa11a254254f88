"""Speed of each stage and of the chain; run by hand: python tests/bench/bench_chain.py

Prints seconds of audio a CPU second for each stage, the time from the command to the first sound,
and the start of `faintcall --help`. Machines differ: compare ratios within one run, never figures
of two.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable

from tqdm import tqdm

ROUNDS = 5
LEAST_S = 0.3


def cpu_seconds(work: Callable[[], object]) -> float:
    """Return the least CPU time of one call, threads and ended child processes included."""
    work()
    best = float("inf")
    for _ in range(ROUNDS):
        start = sum(os.times()[:4])
        calls = 0
        while calls < 1 or sum(os.times()[:4]) - start < LEAST_S:  # the clock ticks at 10 ms
            work()
            calls += 1
        best = min(best, (sum(os.times()[:4]) - start) / calls)
    return best


def wall_seconds(command: list[str], answers: str = "") -> float:
    """Return the least wall time of a command."""
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.perf_counter()
        subprocess.run(command, input=answers, capture_output=True, text=True, check=False)
        best = min(best, time.perf_counter() - start)
    return best


def stages() -> dict[str, tuple[float, float]]:
    """Return for each stage the seconds of audio and the CPU seconds that they take."""
    import numpy as np

    from drill import voices
    from drill.items import Conditions
    from drill.radio import RADIO_RATE_HZ
    from drill.radio.ionosphere import fade
    from drill.radio.levels import speech_level
    from drill.radio.noise import band_noise
    from drill.radio.passband import limit
    from drill.radio.path import EMITTED, RECEIVED, travel
    from drill.radio.presets import fading
    from drill.radio.transmitter import transmit
    from drill.voices.roster import ROSTER
    from phonetics.alphabets import ITU
    from phonetics.message import Word

    words = tuple(Word(say=word.lower(), pause=",") for word in list(ITU.values())[:6])
    path = fading("mid-disturbed")
    result: dict[str, tuple[float, float]] = {}
    for engine in ("natural", "formant"):
        operator = next(o for o in ROSTER if o.engine == engine)
        voice = voices.find(engine)
        clip = voice.say(words, operator, 1)
        result[f"voice, {engine}"] = (
            clip.seconds,
            cpu_seconds(lambda v=voice, o=operator: v.say(words, o, 1)),  # type: ignore[misc]
        )
    rng = np.random.default_rng(1)
    sent = transmit(clip, EMITTED)
    count, rate = len(sent), RADIO_RATE_HZ
    work: dict[str, Callable[[], object]] = {
        "transmitter": lambda: transmit(clip, EMITTED),
        "speech level": lambda: speech_level(sent.real, rate),
        "fading": lambda: fade(sent, rate, path, rng),
        "noise": lambda: band_noise(count, rate, 1e-6, rng),
        "receiver filter": lambda: limit(sent, RECEIVED, rate),
        "radio path, all": lambda: travel(clip, Conditions(fading=path), 1),
    }
    for name in tqdm(work, disable=None):
        result[name] = (clip.seconds, cpu_seconds(work[name]))
    return result


def main() -> None:
    """Print the tables."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line has it
    with tempfile.TemporaryDirectory() as home:
        os.environ["FAINTCALL_HOME"] = home
        print(f"{'stage':18} {'audio s a CPU s':>16} {'share of the path':>18}")
        table = stages()
        whole = table["radio path, all"][1]
        for name, (audio_s, cpu_s) in table.items():
            print(f"{name:18} {audio_s / cpu_s:16.0f} {cpu_s / whole:18.2f}")
        command = [sys.executable, "-m", "drill"]
        bare = wall_seconds([sys.executable, "-c", "import numpy"])
        shown = wall_seconds([*command, "--help"])
        one = [*command, "copy", "--items", "1", "--seed", "1", "--audio-to", f"{home}/out"]
        first = wall_seconds(one, "\n")
        print(f"\nimport numpy       {bare:6.2f} s wall")
        print(
            f"faintcall --help   {shown:6.2f} s wall, {shown / bare:.2f} of it (goal under 0.25 s)"
        )
        print(f"first sound ready  {first:6.2f} s wall, {first / bare:.2f} of it")


if __name__ == "__main__":
    main()
