"""Speed of each stage and of the chain; run by hand: python tests/bench/bench_chain.py

Prints, in one run, seconds of audio a CPU second for each stage and the apply_filter chain, beside a bound
made of the chain's transforms alone and beside scipy's plain calls for the same work; the growth
with length and with the number of neighbours; what a short item takes; and start-up. Machines
differ: compare ratios within one run, never figures of two.
"""

import os
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line has it

import numpy as np
from scipy import fft, signal

from drill import voices
from drill.core.conditions import Conditions, Neighbour, Noise, Transmitter
from drill.core.models import Clip
from drill.core.random_streams import stream
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ, CENTRE_HZ
from drill.radio.channel import CHUNK_SAMPLES, Channel, simulate
from drill.radio.fading import WattersonFading
from drill.radio.filters import (
    BATCH_BLOCKS,
    FFT_BLOCK_S,
    FFT_HOP_S,
    BandFilter,
    Passband,
    apply_filter,
)
from drill.radio.levels import speech_level
from drill.radio.noise import BandNoise
from drill.radio.presets import parse_fading
from drill.radio.receiver import limit_peaks, receiver_agc, receiver_filter
from drill.radio.transmitter import transmit
from drill.voices.operators import find_operators
from drill.voices.people.roster import ROSTER, STUDIO_GROUP
from phonetics.alphabets import ITU
from phonetics.message import Word

ROUNDS = 5
LEAST_S = 0.3
PATH = parse_fading("mid-disturbed")
BAND = Passband(low_hz=300.0, high_hz=2700.0)
CONDITIONS = Conditions(snr_db=0.0, fading=PATH)


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


def pieces(stage: object, sound: np.ndarray, size: int) -> np.ndarray:
    """Return a signal through a stage in pieces that stay in the cache."""
    parts = [stage.process(sound[at : at + size]) for at in range(0, len(sound), size)]
    return np.concatenate([*parts, stage.finish()])


def transforms(seconds: float) -> Callable[[], None]:
    """Return the chain's transforms and nothing else, for so much sound from 16 kHz to 16 kHz."""
    hops = round(seconds / FFT_HOP_S)
    sizes = {rate: round(FFT_BLOCK_S * rate) for rate in (AUDIO_RATE_HZ, BASEBAND_RATE_HZ)}
    real = np.ones((BATCH_BLOCKS, sizes[AUDIO_RATE_HZ]), np.float32)
    core = np.ones((BATCH_BLOCKS, sizes[BASEBAND_RATE_HZ]), np.complex64)
    half = np.ones((BATCH_BLOCKS, sizes[AUDIO_RATE_HZ] // 2 + 1), np.complex64)

    def work() -> None:
        for _ in range(0, hops, BATCH_BLOCKS):
            fft.rfft(real)
            fft.ifft(core)
            fft.fft(core)
            fft.irfft(half, sizes[AUDIO_RATE_HZ])

    return work


def plain_chain(clip: Clip) -> Callable[[], object]:
    """Return the same work by scipy's plain calls on apply_filter arrays in double precision.

    Band limit_peaks and analytic signal, level, two fading paths, noise, receiver filter, AGC by a
    smoothed envelope: as one would write it at first.
    """
    taps = signal.firwin(501, [300, 2700], pass_zero=False, fs=clip.rate_hz)
    spread, rate = PATH.spread_hz, clip.rate_hz
    shift = round(PATH.delay_ms * rate / 1000)

    def tap(rng: np.random.Generator, count: int) -> np.ndarray:
        knots = 64
        at = np.arange(-knots, knots + 1) / knots
        shape = np.exp(-((np.pi * at) ** 2))
        shape /= np.sqrt(np.sum(shape**2))
        white = rng.standard_normal((int(count / rate * knots * spread) + 2 * knots + 2, 2)) @ [
            0.5,
            0.5j,
        ]
        coarse = signal.fftconvolve(white, shape, "valid")
        return signal.resample(coarse, count)

    def work() -> object:
        rng = np.random.default_rng(1)
        sent = signal.hilbert(signal.oaconvolve(clip.samples.astype(float), taps, "same"))
        sent = sent / 10 ** (speech_level(sent.real, rate).active_db / 20)
        late = np.concatenate([np.zeros(shift), sent])[: len(sent)]
        sent = tap(rng, len(sent)) * sent + tap(rng, len(sent)) * late
        noisy = sent.real + rng.standard_normal(len(sent)) * np.sqrt(rate / 2 / 3000)
        heard = signal.oaconvolve(noisy, taps, "same")
        envelope = signal.sosfilt(signal.butter(2, 5, fs=rate, output="sos"), np.abs(heard))
        return heard / np.maximum(envelope, 1e-3) * 0.1

    return work


def speech() -> dict[str, Clip]:
    """Return what the voices' engines say, each with how long it took printed."""
    words = tuple(Word(say=word.lower(), pause=",") for word in ITU.values())
    result = {}
    for engine in ("natural", "formant", "studio"):
        operator = next(o for o in (*ROSTER, *find_operators([STUDIO_GROUP])) if o.engine == engine)
        voice = voices.find_engine(engine)
        if voice.problem():  # the extra is not installed
            continue
        result[engine] = voice.synthesise(words, operator, 1)
        seconds = cpu_seconds(lambda v=voice, o=operator: v.synthesise(words[:6], o, 1))
        spoken = voice.synthesise(words[:6], operator, 1).seconds
        print(f"{'voice, ' + engine:34} {spoken / seconds:10.0f}")
    return result


def stages(clip: Clip) -> None:
    """Print each stage for one over at 16 kHz."""
    emission = transmit(clip, Transmitter())
    core, seconds = emission.samples, clip.seconds
    sound = pieces(receiver_filter(CONDITIONS.receiver), core, CHUNK_SAMPLES)

    def voiced() -> object:
        voice = BandFilter(
            BAND, rate_in=clip.rate_hz, rate_out=BASEBAND_RATE_HZ, centre_out=CENTRE_HZ
        )
        return apply_filter(voice, clip.samples)

    counts = range(0, len(core), CHUNK_SAMPLES)
    static = replace(CONDITIONS, noise=Noise(vd_db=6.0))
    work: dict[str, Callable[[], object]] = {
        "transmitter's filter": voiced,
        "speech level": lambda: speech_level(core, BASEBAND_RATE_HZ),
        "transmitter, all": lambda: transmit(clip, Transmitter()),
        "transmitter, clipped": lambda: transmit(clip, Transmitter(processing="clipped")),
        "ionosphere": lambda: pieces(WattersonFading(PATH, stream(1, "f")), core, CHUNK_SAMPLES),
        "noise": lambda: [
            BandNoise(1e-3, None, stream(1, "n")).take(CHUNK_SAMPLES) for _ in counts
        ],
        "static": lambda: [
            BandNoise(1e-3, 6.0, stream(1, "n")).take(CHUNK_SAMPLES) for _ in counts
        ],
        "receiver's filter": lambda: pieces(
            receiver_filter(CONDITIONS.receiver), core, CHUNK_SAMPLES
        ),
        "AGC": lambda: pieces(receiver_agc("medium", 0.0), sound, 4 * CHUNK_SAMPLES),
        "limiter": lambda: limit_peaks(sound * np.float32(0.08)),
        "path from emission to ears": lambda: pieces(Channel(CONDITIONS, 1), core, CHUNK_SAMPLES),
        "apply_filter chain, voice to ears": lambda: simulate(clip, CONDITIONS, 1),
        "apply_filter chain, static": lambda: simulate(clip, static, 1),
        "bound: its transforms alone": transforms(seconds),
        "scipy's plain calls": plain_chain(clip),
    }
    took = {name: cpu_seconds(call) for name, call in work.items()}
    chain = took["apply_filter chain, voice to ears"]
    for name, cpu_s in took.items():
        print(f"{name:34} {seconds / cpu_s:10.0f} {cpu_s / chain:14.2f}")


def lengths(clip: Clip) -> None:
    """Print the growth with length: a stream in pieces, its memory bounded."""
    print(f"\n{'length, s':>10} {'audio s a CPU s':>16} {'peak memory, MB':>16}")
    core = transmit(clip, Transmitter()).samples
    for seconds in (10, 60, 600, 3600):

        def run(count: int = seconds * BASEBAND_RATE_HZ) -> None:
            path = Channel(CONDITIONS, 1)
            for left in range(count, 0, -CHUNK_SAMPLES):
                path.process(core[: min(left, CHUNK_SAMPLES)])
            path.finish()

        cpu_s = cpu_seconds(run)
        tracemalloc.start()
        run()
        peak = tracemalloc.get_traced_memory()[1] / 2**20
        tracemalloc.stop()
        print(f"{seconds:10} {seconds / cpu_s:16.0f} {peak:16.1f}")


def crowds(clip: Clip) -> None:
    """Print the growth with the number of neighbours, each with its own fading."""
    print(f"\n{'neighbours':>10} {'audio s a CPU s':>16} {'ms an item':>12}")
    for count in (0, 1, 3, 10, 50):
        some = tuple(Neighbour(offset_hz=100.0 * n - 2000) for n in range(count))
        crowded = replace(CONDITIONS, neighbours=some)
        others = [clip] * count
        cpu_s = cpu_seconds(lambda c=crowded, o=others: simulate(clip, c, 1, o))
        print(f"{count:10} {clip.seconds / cpu_s:16.0f} {1000 * cpu_s:12.1f}")


def start_up(home: str) -> None:
    """Print how long the user waits."""
    command = [sys.executable, "-m", "drill"]
    bare = wall_seconds([sys.executable, "-c", "import numpy"])
    shown = wall_seconds([*command, "--help"])
    one = [*command, "copy", "--items", "1", "--seed", "1", "--audio-to", f"{home}/out"]
    first = wall_seconds(one, "\n")
    print(f"\nimport numpy       {bare:6.2f} s wall")
    print(f"faintcall --help   {shown:6.2f} s wall, {shown / bare:.2f} of it (goal under 0.25 s)")
    print(f"first sound ready  {first:6.2f} s wall, {first / bare:.2f} of it")


def main() -> None:
    """Print the tables."""
    with tempfile.TemporaryDirectory() as home:
        os.environ["FAINTCALL_HOME"] = home
        print(f"{'stage, one over':34} {'s a CPU s':>10} {'of the chain':>14}")
        said = speech()["formant"]
        samples = signal.resample_poly(said.samples, AUDIO_RATE_HZ // 50, said.rate_hz // 50)
        clip = Clip(samples=samples.astype(np.float32), rate_hz=AUDIO_RATE_HZ)
        print(f"An over of {clip.seconds:.1f} s at {clip.rate_hz} Hz:")
        stages(clip)
        lengths(clip)
        five = Clip(samples=clip.samples[: 5 * clip.rate_hz], rate_hz=clip.rate_hz)
        crowds(five)
        start_up(home)


if __name__ == "__main__":
    main()
