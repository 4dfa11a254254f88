"""The bank of rendered speech: shards of samples with an index, made by many processes.

A shard is NAME.i16 (samples, 8 kHz, 16 bits) and NAME.jsonl with one line for each utterance:
[first sample, number of samples, tokens, speaker, 1 if the
speaker has ways of saying words of their own]. A shard that is still growing can be read.
"""

import json
import multiprocessing
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray
from tqdm import tqdm

from tests.tools.train_recogniser.speech import ENGINES, RATE_HZ, Sound
from tests.tools.train_recogniser.texts import stretches
from tests.tools.train_recogniser.vocabulary import tokens_of

LONGEST_S = 5.5
SHORTEST_WORD_S = 0.12
KEPT_S = 0.06
QUIET_DB = -45.0
UTTERANCES = {"natural": 8, "studio": 5, "formant": 8}
"""How many utterances a speaker gives."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Utterance:
    """Where an utterance lies in a shard, what is said, and by whom.

    own_ways: the speaker has ways of saying words of their own.
    """

    first: int
    count: int
    tokens: tuple[int, ...]
    speaker: str
    own_ways: bool


def trimmed(sound: Sound) -> Sound:
    """Return the sound without the silence at its ends, but for KEPT_S."""
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
    engine: str, rng: Random
) -> Iterator[tuple[str, bool, list[int], NDArray[np.int16]]]:
    """Give (speaker, has own ways, tokens, samples) without end."""
    voice = ENGINES[engine]()
    number = 0
    while True:
        number += 1
        speaker = voice.draw_speaker(rng)
        for _ in range(UTTERANCES.get(engine, 5)):
            for words in stretches(rng):
                tokens = tokens_of(word.say for word in words)
                if not tokens:
                    continue
                sound = trimmed(voice.say(words, speaker, rng))
                if len(sound) and is_usable(sound, len(tokens)) and np.abs(sound).max() > 0:
                    name = speaker.operator.name
                    name = f"{number}" if name == "training" else name
                    yield (
                        name,
                        speaker.has_own_ways,
                        tokens,
                        (sound / np.abs(sound).max() * 30000).astype("<i2"),
                    )


def write_shard(engine: str, folder: Path, seed: int, seconds: float, limit_s: float) -> None:
    """Write one shard of about so many seconds of sound, within limit_s of time."""
    rng = Random(f"recogniser bank {engine} {seed}")
    stem = folder / f"{engine}_{seed}"
    until = time.monotonic() + limit_s
    made = 0
    with stem.with_suffix(".i16").open("wb") as raw, stem.with_suffix(".jsonl").open("w") as index:
        for speaker, own_ways, tokens, samples in utterances(engine, rng):
            raw.write(samples.tobytes())
            raw.flush()
            row = [made, len(samples), tokens, f"{engine}{seed}.{speaker}", int(own_ways)]
            index.write(json.dumps(row) + "\n")
            index.flush()
            made += len(samples)
            if made >= seconds * RATE_HZ or time.monotonic() > until:
                return


def make_bank(
    folder: Path, jobs: list[tuple[str, int, float]], processes: int, limit_s: float
) -> None:
    """Write shards in parallel. jobs: (engine, seed, seconds of sound) for each shard."""
    folder.mkdir(parents=True, exist_ok=True)
    left = [job for job in jobs if not (folder / f"{job[0]}_{job[1]}.done").exists()]
    context = multiprocessing.get_context("spawn")
    with context.Pool(processes, maxtasksperchild=1) as pool:
        results = [
            pool.apply_async(_shard, (engine, str(folder), seed, seconds, limit_s))
            for engine, seed, seconds in left
        ]
        for result in tqdm(results, desc="shards", mininterval=5):
            result.get()


def _shard(engine: str, folder: str, seed: int, seconds: float, limit_s: float) -> None:
    write_shard(engine, Path(folder), seed, seconds, limit_s)
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
            first, count, tokens, speaker, own_ways = json.loads(line)
            if first + count > size:
                break
            position += len(line)
            rows.append(
                Utterance(first=first, count=count, tokens=tuple(tokens), speaker=speaker,
                          own_ways=bool(own_ways))
            )  # fmt: skip
    return rows, position
