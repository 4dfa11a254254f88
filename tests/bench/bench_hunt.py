"""Speed and memory of a hunt; run by hand: python -m tests.bench.bench_hunt [--hours N]

Prints the share of a core that the receiver takes with 20, 100 and 200 stations within 100 kHz
(goals: at most 2 % with 100, at most 4 % with 200), and the memory of this process while a hunt on
a jammed band runs as fast as it can, with noise in place of speech and a dial that turns all the
time.
"""

import argparse
import os
import resource
import time
from dataclasses import replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one thread, as the command line sets it

import numpy as np

from drill.core.conditions import Conditions, Fading, Transmitter
from drill.hunt.acts import TUNE
from drill.hunt.live import LiveHunt
from drill.hunt.sound import BLOCK, HuntSound, SignalOnAir
from drill.hunt.stream import HuntStream
from drill.radio import AUDIO_RATE_HZ
from drill.radio.transmitter import transmit_neighbour
from tests.drill.hunt.sounding import NoiseSpeech, UnrecordedHunt, ten_minutes
from tests.drill.radio.sounds import voice_like

BLOCK_S = BLOCK / AUDIO_RATE_HZ
LOWER_HZ, WIDTH_HZ = 14_150_000.0, 100_000.0
OVER_S, CYCLE_S = 3.5, 7.0
"""Length of an over, and time from the start of one over of a station to the next."""
TURN_EVERY = 30
"""Blocks from one turn of the dial to the next, about a second."""


def receiver_ms(stations: int, seconds: float = 60.0) -> list[float]:
    """Return the CPU time of each block in ms."""
    rng = np.random.default_rng(1)
    voice = transmit_neighbour(voice_like(OVER_S), Transmitter(overdrive_db=3.0), 5000.0).samples
    sound = HuntSound(dial_hz=LOWER_HZ, seed=1, conditions=Conditions())
    carriers_hz = LOWER_HZ + rng.uniform(0, WIDTH_HZ, stations)
    starts = rng.uniform(0, CYCLE_S * AUDIO_RATE_HZ, stations)
    times = []
    for block in range(round(seconds / BLOCK_S)):
        for index in np.flatnonzero(starts < sound.now + 2 * BLOCK):
            over = SignalOnAir(
                transmitter=str(index),
                carrier_hz=float(carriers_hz[index]),
                path_seed=int(index),
                fading=Fading(delay_ms=0.5, spread_hz=0.5),
                level_db=lambda times_s: np.full_like(times_s, 10.0),
                start=int(starts[index]),
                signal=voice,
            )
            sound.add(over)
            starts[index] += CYCLE_S * AUDIO_RATE_HZ
        if block % TURN_EVERY == 0:
            sound.turn(LOWER_HZ + (731 * block) % WIDTH_HZ)
        begin = time.process_time()
        sound.receive()
        times.append(1000 * (time.process_time() - begin))
    return times


def print_receiver() -> None:
    """Print the share of a core for increasing numbers of stations."""
    for stations in (20, 100, 200):
        times = receiver_ms(stations)
        share = np.mean(times) / (1000 * BLOCK_S)
        print(
            f"{stations:4} stations: {np.mean(times):.2f} ms a block of {1000 * BLOCK_S:.0f} ms, "
            f"95 % below {np.percentile(times, 95):.2f} ms, {100 * share:.1f} % of a core"
        )


def print_memory(hours: float) -> None:
    """Print the peak memory so far, ten times during a hunt on the accelerated clock."""
    live = LiveHunt(replace(ten_minutes(), minutes=60 * hours), speech=NoiseSpeech())
    stream = HuntStream(UnrecordedHunt(live))
    lower_hz, width_hz = live.bands[0].lower_hz, live.bands[0].upper_hz - live.bands[0].lower_hz
    blocks = int(hours * 3600 / BLOCK_S)
    for block in range(blocks):
        if block % TURN_EVERY == 0:
            stream.act(TUNE, hz=lower_hz + 10 * ((37 * block) % (width_hz // 10)))
        stream.step()
        if stream.pull() is None:
            return
        if block % (blocks // 10) == 0:
            used_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            cpu_s = time.process_time()
            print(
                f"{block * BLOCK_S / 3600:5.1f} h: {used_mb:.0f} MB, {cpu_s:.0f} s CPU", flush=True
            )


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser()
    parser.add_argument(
        "--hours", type=float, default=1.0, help="length of the hunt whose memory is measured"
    )
    options = parser.parse_args()
    print_receiver()
    print_memory(options.hours)


if __name__ == "__main__":
    main()
