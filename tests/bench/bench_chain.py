"""Speed of each stage and of the whole chain; run by hand: python tests/bench/bench_chain.py

In one run it prints seconds of audio per CPU second for each stage and for the whole chain, beside
a bound (the chain's transforms alone) and beside plain SciPy calls for the same work; the growth
with length and with the number of neighbours; the time for a short item; and start-up times.
Computers differ, so compare ratios within one run, never figures of two runs.
"""

import os
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one thread, as the command line sets it

import numpy as np
from scipy import fft, signal

from drill import voices
from drill.core.conditions import Conditions, Neighbour, Noise, Transmitter
from drill.core.models import Clip
from drill.core.random_streams import random_stream
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
from drill.radio.neighbours import tune
from drill.radio.noise import BandNoise
from drill.radio.presets import parse_fading
from drill.radio.receiver import limit_peaks, receiver_agc, receiver_filter
from drill.radio.transmitter import transmit
from drill.voices.operators import find_operators
from drill.voices.people.roster import ROSTER, STUDIO_GROUP
from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.message import Word

ROUNDS = 5
MIN_MEASURED_S = 0.3
FADING = parse_fading("mid-disturbed")
VOICE_BAND = Passband(low_hz=300.0, high_hz=2700.0)
CONDITIONS = Conditions(snr_db=0.0, fading=FADING)


def cpu_seconds(work: Callable[[], object]) -> float:
    """Return the lowest CPU time of one call, including threads and finished child processes."""
    work()
    best = float("inf")
    for _ in range(ROUNDS):
        start = sum(os.times()[:4])
        calls = 0
        while calls < 1 or sum(os.times()[:4]) - start < MIN_MEASURED_S:  # the clock ticks at 10 ms
            work()
            calls += 1
        best = min(best, (sum(os.times()[:4]) - start) / calls)
    return best


def wall_seconds(command: list[str], typed: str = "") -> float:
    """Return the lowest wall time of a command."""
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.perf_counter()
        subprocess.run(command, input=typed, capture_output=True, text=True, check=False)
        best = min(best, time.perf_counter() - start)
    return best


def in_chunks(stage: object, samples: np.ndarray, size: int) -> np.ndarray:
    """Return a signal through a stage in chunks that stay in the cache."""
    parts = [stage.process(samples[at : at + size]) for at in range(0, len(samples), size)]
    return np.concatenate([*parts, stage.finish()])


def transforms_alone(seconds: float) -> Callable[[], None]:
    """Return a function that does only the chain's transforms for this duration of audio."""
    hops = round(seconds / FFT_HOP_S)
    sizes = {rate: round(FFT_BLOCK_S * rate) for rate in (AUDIO_RATE_HZ, BASEBAND_RATE_HZ)}
    audio = np.ones((BATCH_BLOCKS, sizes[AUDIO_RATE_HZ]), np.float32)
    baseband = np.ones((BATCH_BLOCKS, sizes[BASEBAND_RATE_HZ]), np.complex64)
    half_spectrum = np.ones((BATCH_BLOCKS, sizes[AUDIO_RATE_HZ] // 2 + 1), np.complex64)

    def work() -> None:
        for _ in range(0, hops, BATCH_BLOCKS):
            fft.rfft(audio)
            fft.ifft(baseband)
            fft.fft(baseband)
            fft.irfft(half_spectrum, sizes[AUDIO_RATE_HZ])

    return work


def plain_scipy_chain(clip: Clip) -> Callable[[], object]:
    """Return the same work as plain SciPy calls on whole arrays in double precision.

    Band-pass and analytic signal, level, two fading paths, noise, receiver filter, and an AGC with
    a smoothed envelope: the obvious first version.
    """
    taps = signal.firwin(501, [300, 2700], pass_zero=False, fs=clip.rate_hz)
    spread_hz, rate_hz = FADING.spread_hz, clip.rate_hz
    delay = round(FADING.delay_ms * rate_hz / 1000)

    def path_gain(rng: np.random.Generator, count: int) -> np.ndarray:
        knots = 64
        time_s = np.arange(-knots, knots + 1) / knots
        shape = np.exp(-((np.pi * time_s) ** 2))
        shape /= np.sqrt(np.sum(shape**2))
        knot_count = int(count / rate_hz * knots * spread_hz) + 2 * knots + 2
        white = rng.standard_normal((knot_count, 2)) @ [0.5, 0.5j]
        return signal.resample(signal.fftconvolve(white, shape, "valid"), count)

    def work() -> object:
        rng = np.random.default_rng(1)
        sent = signal.hilbert(signal.oaconvolve(clip.samples.astype(float), taps, "same"))
        sent = sent / 10 ** (speech_level(sent.real, rate_hz).active_db / 20)
        delayed = np.concatenate([np.zeros(delay), sent])[: len(sent)]
        faded = path_gain(rng, len(sent)) * sent + path_gain(rng, len(sent)) * delayed
        noisy = faded.real + rng.standard_normal(len(faded)) * np.sqrt(rate_hz / 2 / 3000)
        filtered = signal.oaconvolve(noisy, taps, "same")
        smoother = signal.butter(2, 5, fs=rate_hz, output="sos")
        envelope = signal.sosfilt(smoother, np.abs(filtered))
        return filtered / np.maximum(envelope, 1e-3) * 0.1

    return work


def print_engines() -> dict[str, Clip]:
    """Print the speed of each speech engine; return its recording of the alphabet, by engine."""
    words = tuple(Word(say=word.lower(), pause=",") for word in ITU_CODE_WORDS.values())
    operators = (*ROSTER, *find_operators([STUDIO_GROUP]))
    clips = {}
    for name in ("natural", "formant", "studio"):
        operator = next(operator for operator in operators if operator.engine == name)
        engine = voices.find_engine(name)
        if engine.problem():  # the extra is not installed
            continue
        clips[name] = engine.synthesise(words, operator, 1)
        seconds = cpu_seconds(lambda e=engine, o=operator: e.synthesise(words[:6], o, 1))
        spoken_s = engine.synthesise(words[:6], operator, 1).seconds
        print(f"{'engine, ' + name:34} {spoken_s / seconds:10.0f}")
    return clips


def print_stages(clip: Clip) -> None:
    """Print the speed of each stage for one over at 16 kHz."""
    baseband = tune(transmit(clip, Transmitter()), 0.0)
    audio = in_chunks(receiver_filter(CONDITIONS.receiver), baseband, CHUNK_SAMPLES)
    starts = range(0, len(baseband), CHUNK_SAMPLES)
    static = replace(CONDITIONS, noise=Noise(vd_db=6.0))

    def modulate() -> object:
        band_filter = BandFilter(
            VOICE_BAND, rate_in=clip.rate_hz, rate_out=BASEBAND_RATE_HZ, centre_out=CENTRE_HZ
        )
        return apply_filter(band_filter, clip.samples)

    def fade() -> object:
        return in_chunks(WattersonFading(FADING, random_stream(1, "f")), baseband, CHUNK_SAMPLES)

    def noise(vd_db: float | None) -> object:
        return [BandNoise(1e-3, vd_db, random_stream(1, "n")).take(CHUNK_SAMPLES) for _ in starts]

    chain_name = "whole chain, voice to ears"
    work: dict[str, Callable[[], object]] = {
        "transmitter's filter": modulate,
        "speech level": lambda: speech_level(baseband, BASEBAND_RATE_HZ),
        "transmitter, complete": lambda: transmit(clip, Transmitter()),
        "transmitter, clipped": lambda: transmit(clip, Transmitter(processing="clipped")),
        "fading": fade,
        "noise": lambda: noise(None),
        "static": lambda: noise(6.0),
        "receiver's filter": lambda: in_chunks(
            receiver_filter(CONDITIONS.receiver), baseband, CHUNK_SAMPLES
        ),
        "AGC": lambda: in_chunks(receiver_agc("medium", 0.0), audio, 4 * CHUNK_SAMPLES),
        "limiter": lambda: limit_peaks(audio * np.float32(0.08)),
        "channel, emission to ears": lambda: in_chunks(
            Channel(CONDITIONS, 1), baseband, CHUNK_SAMPLES
        ),
        chain_name: lambda: simulate(clip, CONDITIONS, 1),
        "whole chain, static": lambda: simulate(clip, static, 1),
        "bound: its transforms alone": transforms_alone(clip.seconds),
        "plain SciPy calls": plain_scipy_chain(clip),
    }
    times_s = {name: cpu_seconds(call) for name, call in work.items()}
    for name, cpu_s in times_s.items():
        print(f"{name:34} {clip.seconds / cpu_s:10.0f} {cpu_s / times_s[chain_name]:14.2f}")


def print_lengths(clip: Clip) -> None:
    """Print the growth with length: a stream in chunks has bounded memory."""
    print(f"\n{'length, s':>10} {'audio s/CPU s':>16} {'peak memory, MB':>16}")
    baseband = tune(transmit(clip, Transmitter()), 0.0)
    for seconds in (10, 60, 600, 3600):

        def run(count: int = seconds * BASEBAND_RATE_HZ) -> None:
            channel = Channel(CONDITIONS, 1)
            for remaining in range(count, 0, -CHUNK_SAMPLES):
                channel.process(baseband[: min(remaining, CHUNK_SAMPLES)])
            channel.finish()

        cpu_s = cpu_seconds(run)
        tracemalloc.start()
        run()
        peak_mb = tracemalloc.get_traced_memory()[1] / 2**20
        tracemalloc.stop()
        print(f"{seconds:10} {seconds / cpu_s:16.0f} {peak_mb:16.1f}")


def print_neighbours(clip: Clip) -> None:
    """Print the growth with the number of neighbours, each with its own fading."""
    print(f"\n{'neighbours':>10} {'audio s/CPU s':>16} {'ms per item':>12}")
    for count in (0, 1, 3, 10, 50):
        neighbours = tuple(Neighbour(offset_hz=100.0 * n - 2000) for n in range(count))
        conditions = replace(CONDITIONS, neighbours=neighbours)
        clips = [clip] * count
        cpu_s = cpu_seconds(lambda c=conditions, n=clips: simulate(clip, c, 1, n))
        print(f"{count:10} {clip.seconds / cpu_s:16.0f} {1000 * cpu_s:12.1f}")


def print_start_up(home: str) -> None:
    """Print how long the user waits."""
    command = [sys.executable, "-m", "drill"]
    numpy_s = wall_seconds([sys.executable, "-c", "import numpy"])
    help_s = wall_seconds([*command, "--help"])
    copy = [*command, "copy", "--items", "1", "--seed", "1", "--audio-to", f"{home}/out"]
    first_s = wall_seconds(copy, "\n")
    print(f"\nimport numpy       {numpy_s:6.2f} s wall time")
    print(f"faintcall --help   {help_s:6.2f} s, {help_s / numpy_s:.2f} of that (goal below 0.25 s)")
    print(f"first sound ready  {first_s:6.2f} s, {first_s / numpy_s:.2f} of that")


def main() -> None:
    """Print all tables."""
    with tempfile.TemporaryDirectory() as home:
        os.environ["FAINTCALL_HOME"] = home
        print(f"{'stage, one over':34} {'s/CPU s':>10} {'of the chain':>14}")
        voice = print_engines()["formant"]
        samples = signal.resample_poly(voice.samples, AUDIO_RATE_HZ // 50, voice.rate_hz // 50)
        clip = Clip(samples=samples.astype(np.float32), rate_hz=AUDIO_RATE_HZ)
        print(f"An over of {clip.seconds:.1f} s at {clip.rate_hz} Hz:")
        print_stages(clip)
        print_lengths(clip)
        print_neighbours(Clip(samples=clip.samples[: 5 * clip.rate_hz], rate_hz=clip.rate_hz))
        print_start_up(home)


if __name__ == "__main__":
    main()
