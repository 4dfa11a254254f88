"""Batches of training items, put together from the bank on the device.

An item is a few utterances of one speaker, with pauses, in a fixed length of time. A worker draws
which utterances lie where (small tables); the sound is gathered from a copy of the bank on the
device, so that no sound passes between processes.
"""

import threading
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from queue import Queue

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from tests.tools.train_recogniser.bank import new_rows
from tests.tools.train_recogniser.speech import RATE_HZ
from tests.tools.train_recogniser.vocabulary import vocabulary

SLOWEST = 1.3
"""Room for items that are read more quickly than they were spoken."""
SHORT_LEAD_S, LONG_LEAD_S = 0.7, 4.0
"""Longest silences before the first word: a network trained without long ones needs short ones."""
PAUSES_S = ((0.0, 0.15), (0.05, 0.5), (0.3, 1.2), (1.0, 3.0))
"""Ranges of the pause between two utterances, each as likely."""
Entry = tuple[int, int, tuple[int, ...]]
PIECES = (1, 1, 1, 2, 3, 9)
"""Most utterances of an item, each as likely: a third of items hold one."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Layout:
    """Which samples of the bank lie where in a batch: one row for each utterance.

    rows: (n, 3) first sample in the bank, first sample in the flat batch, number of samples.
    gains: (n,). speeds: (batch,) at which items are read. tokens, phonemes: labels of all items in
    one row, with their counts.
    """

    rows: NDArray[np.int64]
    gains: NDArray[np.float32]
    speeds: NDArray[np.float32]
    tokens: NDArray[np.int64]
    token_counts: NDArray[np.int64]
    phonemes: NDArray[np.int64]
    phoneme_counts: NDArray[np.int64]


class DeviceBank:
    """The bank's samples on a device, and its utterances by engine and speaker.

    samples: (n,) int16. speakers: for each engine, for each speaker, the utterances as (first
    sample, number of samples, tokens).
    """

    def __init__(self, folder: Path, device: torch.device, *, ways: bool = True) -> None:
        """Read what is in the folder; ways: take speakers with ways of their own too."""
        self._folder, self._device, self._ways = folder, device, ways
        self._read: dict[str, int] = {}
        self._known: dict[str, dict[str, list[Entry]]] = {}
        self.samples = torch.zeros(0, dtype=torch.int16, device=device)
        self.speakers: dict[str, list[list[Entry]]] = {}
        self.refresh()

    def refresh(self) -> None:
        """Take in what has been written since."""
        start, parts = len(self.samples), [self.samples]
        for path in sorted(self._folder.glob("*.jsonl")):
            rows, read = new_rows(path, self._read.get(path.name, 0))
            self._read[path.name] = read
            if not rows:
                continue
            first = rows[0].first
            count = rows[-1].first + rows[-1].count - first
            values = np.fromfile(path.with_suffix(".i16"), "<i2", count=count, offset=2 * first)
            parts.append(torch.from_numpy(values).to(self._device))
            people = self._known.setdefault(path.stem.rpartition("_")[0], {})
            for row in rows:
                if self._ways or not row.own_ways:
                    entry = (start + row.first - first, row.count, row.tokens)
                    people.setdefault(row.speaker, []).append(entry)
            start += count
        if len(parts) > 1:
            self.samples = torch.cat(parts)
            self.speakers = {
                engine: [list(said) for said in people.values()]
                for engine, people in self._known.items()
            }

    def hours(self) -> Mapping[str, float]:
        """Return the hours of sound of each engine."""
        return {
            engine: round(
                sum(count for items in people for _, count, _ in items) / RATE_HZ / 3600, 2
            )
            for engine, people in self.speakers.items()
        }


def draw_layout(
    bank: DeviceBank,
    rng: np.random.Generator,
    *,
    batch: int,
    samples: int,
    mix: Mapping[str, float],
    speed: float,
) -> Layout:
    """Return a batch at random. samples: length of an item after it is read at its speed."""
    speakers = bank.speakers
    engines = [engine for engine in mix if speakers.get(engine)]
    shares = np.asarray([mix[engine] for engine in engines])
    chosen = rng.choice(len(engines), size=batch, p=shares / shares.sum())
    speeds = np.exp(np.clip(rng.normal(0, speed, batch), -0.26, 0.26)).astype(np.float32)
    length = round(samples * SLOWEST)
    rows: list[tuple[int, int, int]] = []
    tokens: list[list[int]] = []
    for item in range(batch):
        people = speakers[engines[chosen[item]]]
        said = people[rng.integers(len(people))]
        room = int((samples - 0.2 * RATE_HZ) * speeds[item])
        tokens.append(_fill(said, rng, room, item * length, rows))
    reading = vocabulary().reading
    phonemes = [[phoneme for token in row for phoneme in reading(token)] for row in tokens]
    return Layout(
        rows=np.asarray(rows, np.int64).reshape(-1, 3),
        gains=rng.uniform(0.6, 1.0, len(rows)).astype(np.float32),
        speeds=speeds,
        tokens=np.asarray([token for row in tokens for token in row], np.int64),
        token_counts=np.asarray([len(row) for row in tokens], np.int64),
        phonemes=np.asarray([phoneme for row in phonemes for phoneme in row], np.int64),
        phoneme_counts=np.asarray([len(row) for row in phonemes], np.int64),
    )


def _fill(
    said: list[Entry],
    rng: np.random.Generator,
    room: int,
    start: int,
    rows: list[tuple[int, int, int]],
) -> list[int]:
    """Add the utterances of one item to rows and return its tokens."""
    longest_lead_s = SHORT_LEAD_S if rng.random() < 0.5 else LONG_LEAD_S
    at = int(rng.uniform(0.05, longest_lead_s) * RATE_HZ)
    tokens: list[int] = []
    for _ in range(PIECES[rng.integers(len(PIECES))]):
        first, count, words = said[rng.integers(len(said))]
        if count > room:
            continue
        if at + count > room:
            if tokens:
                break
            at = room - count
        rows.append((first, start + at, count))
        tokens += words
        shortest_s, longest_s = PAUSES_S[rng.integers(len(PAUSES_S))]
        at += count + int(rng.uniform(shortest_s, longest_s) * RATE_HZ)
    return tokens


def gather(bank: Tensor, layout: Layout, samples: int) -> Tensor:
    """Return the sound of a layout, (batch, SLOWEST * samples), float32 at full scale 1."""
    device = bank.device
    batch, length = len(layout.speeds), round(samples * SLOWEST)
    rows = torch.from_numpy(layout.rows).to(device)
    gains = torch.from_numpy(layout.gains).to(device) / 32768
    sources, targets, counts = rows[:, 0], rows[:, 1], rows[:, 2]
    before = torch.cumsum(counts, 0) - counts
    inside = torch.arange(int(layout.rows[:, 2].sum()), device=device)
    inside = inside - torch.repeat_interleave(before, counts)
    source = torch.repeat_interleave(sources, counts) + inside
    target = torch.repeat_interleave(targets, counts) + inside
    flat = torch.zeros(batch * length, device=device)
    flat[target] = bank[source].to(torch.float32) * torch.repeat_interleave(gains, counts)
    return flat.view(batch, length)


def layouts(
    bank: DeviceBank,
    *,
    seed: int,
    first: int,
    batch: int,
    samples: int,
    mix: Mapping[str, float],
    speed: float,
    refresh_s: float,
) -> Iterator[tuple[Tensor, Layout]]:
    """Give the bank's samples and a layout for each step from step `first` on.

    Each step has a random stream of its own, so that a run can be resumed. A thread draws ahead.
    The bank is read again every refresh_s seconds while it grows; a run whose bank was complete
    from the start is repeatable.
    """
    ready: Queue[tuple[Tensor, Layout]] = Queue(maxsize=8)

    def draw() -> None:
        step, read_at = first, time.monotonic()
        while True:
            if refresh_s and time.monotonic() - read_at > refresh_s:
                bank.refresh()
                read_at = time.monotonic()
            rng = np.random.default_rng([seed, step])
            layout = draw_layout(bank, rng, batch=batch, samples=samples, mix=mix, speed=speed)
            ready.put((bank.samples, layout))
            step += 1

    threading.Thread(target=draw, daemon=True).start()
    while True:
        yield ready.get()
