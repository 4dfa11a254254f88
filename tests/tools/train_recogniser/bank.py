"""The bank of rendered speech: shards of samples with an index, made by many processes.

A shard is NAME.i16 (samples, 8 kHz, 16 bits) and NAME.jsonl with one line for each utterance:
[first sample, number of samples, tokens, speaker]. A shard that is still growing can be read.
"""

import json
import multiprocessing
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray
from tqdm import tqdm

from tests.tools.train_recogniser.config import BankConfig
from tests.tools.train_recogniser.speech import ENGINES, RATE_HZ, Sound
from tests.tools.train_recogniser.texts import stretches
from tests.tools.train_recogniser.vocabulary import tokens_of

LONGEST_S = 5.5
SHORTEST_WORD_S = 0.12
KEPT_S = 0.06
QUIET_DB = -45.0
UTTERANCES = {"natural": 8, "studio": 5, "formant": 8}
"""Number of utterances of each speaker."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Utterance:
    """Position of an utterance in a shard, its words, and its speaker."""

    first: int
    count: int
    tokens: tuple[int, ...]
    speaker: str


def trimmed(sound: Sound) -> Sound:
    """Return the sound without the silence at its ends, except KEPT_S of it."""
    window = round(0.01 * RATE_HZ)
    power = np.convolve(sound**2, np.ones(window) / window, "same")
    loud = np.flatnonzero(power > power.max() * 10 ** (QUIET_DB / 10))
    if not len(loud):
        return sound
    margin = round(KEPT_S * RATE_HZ)
    return sound[max(0, loud[0] - margin) : loud[-1] + margin]


def is_usable(sound: Sound, words: int) -> bool:
    """Return True if the sound is finite, of a fitting length and not too quick for its words."""
    seconds = len(sound) / RATE_HZ
    return (
        0.12 < seconds <= LONGEST_S
        and seconds / words >= SHORTEST_WORD_S
        and bool(np.isfinite(sound).all())
    )


def utterances(
    engine: str, rng: Random, config: BankConfig
) -> Iterator[tuple[str, list[int], NDArray[np.int16]]]:
    """Yield (speaker, tokens, samples) without end."""
    voice = ENGINES[engine]()
    number = 0
    while True:
        number += 1
        drawn = voice.draw_speaker(rng)
        speaker = replace(
            drawn,
            ways=drawn.ways if config.ways else {},
            habits=drawn.habits if config.habits else (),
        )
        for _ in range(UTTERANCES.get(engine, 5)):
            for words in stretches(rng):
                tokens = tokens_of(word.say for word in words)
                if not tokens:
                    continue
                sound = trimmed(voice.say(words, speaker, rng))
                if len(sound) and is_usable(sound, len(tokens)) and np.abs(sound).max() > 0:
                    name = speaker.operator.name
                    name = f"{number}" if name == "training" else name
                    yield name, tokens, (sound / np.abs(sound).max() * 30000).astype("<i2")


def write_shard(engine: str, folder: Path, seed: int, seconds: float, config: BankConfig) -> None:
    """Write one shard of about `seconds` of sound, within the time limit."""
    rng = Random(f"recogniser bank {engine} {seed}")
    stem = folder / f"{engine}_{seed}"
    until = time.monotonic() + config.limit_s
    made = 0
    with stem.with_suffix(".i16").open("wb") as raw, stem.with_suffix(".jsonl").open("w") as index:
        for speaker, tokens, samples in utterances(engine, rng, config):
            raw.write(samples.tobytes())
            raw.flush()
            row = [made, len(samples), tokens, f"{engine}{seed}.{speaker}"]
            index.write(json.dumps(row) + "\n")
            index.flush()
            made += len(samples)
            if made >= seconds * RATE_HZ or time.monotonic() > until:
                return


def make_bank(
    folder: Path, config: BankConfig, processes: int, engines: Sequence[str] = ()
) -> None:
    """Write the shards that are missing, in parallel. engines: to render, by default all."""
    folder.mkdir(parents=True, exist_ok=True)
    left = [
        (engine, seed, config.hours[engine] * 3600 / config.shards[engine])
        for engine in engines or config.hours
        for seed in range(config.shards[engine])
        if not (folder / f"{engine}_{seed}.done").exists()
    ]
    context = multiprocessing.get_context("spawn")
    with context.Pool(processes, maxtasksperchild=1) as pool:
        results = [
            pool.apply_async(_shard, (engine, str(folder), seed, seconds, config))
            for engine, seed, seconds in left
        ]
        for result in tqdm(results, desc="shards", mininterval=5):
            result.get()


def _shard(engine: str, folder: str, seed: int, seconds: float, config: BankConfig) -> None:
    write_shard(engine, Path(folder), seed, seconds, config)
    (Path(folder) / f"{engine}_{seed}.done").touch()


def new_rows(index: Path, position: int = 0) -> tuple[list[Utterance], int]:
    """Return the utterances that an index has after a position in bytes, and the next position.

    Utterances whose samples are not written yet are left for the next time.
    """
    size = index.with_suffix(".i16").stat().st_size // 2
    rows: list[Utterance] = []
    with index.open("rb") as file:
        file.seek(position)
        for line in file:
            if not line.endswith(b"\n"):
                break
            first, count, tokens, speaker = json.loads(line)
            if first + count > size:
                break
            position += len(line)
            rows.append(Utterance(first=first, count=count, tokens=tuple(tokens), speaker=speaker))
    return rows, position
