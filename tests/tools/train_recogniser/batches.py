"""Batches of training items, put together from the bank on the device.

An item is a few utterances of one speaker, with pauses, in a fixed length of time. A thread draws
which utterances lie where (small tables); the sound is gathered from a copy of the bank on the
device.
"""

import threading
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from queue import Queue

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from tests.tools.train_recogniser.device_bank import DeviceBank, Speech, ragged
from tests.tools.train_recogniser.speech import RATE_HZ
from tests.tools.train_recogniser.vocabulary import vocabulary

SLOWEST = 1.3
"""Factor on an item's length: room for items that are read more quickly than they were spoken."""
SHORT_LEAD_S, LONG_LEAD_S = 0.7, 4.0
"""Longest silences before the first word: a network trained without long ones needs short ones."""
LONG_LEADS = 0.2
"""Share of items with the longer limit."""
PAUSES_S = np.asarray(((0.0, 0.15), (0.05, 0.5), (0.05, 0.5), (0.3, 1.2), (1.0, 3.0)))
"""Ranges of the pause between two utterances, equally likely; the last is a long silence."""
PIECES = np.asarray((1, 1, 2, 3, 5, 9))
"""Maximum numbers of utterances in an item, equally likely."""
CLOSEST_S, MARGIN_S = 0.05, 0.2
"""Shortest silences before the first word and after the last."""

Numbers = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Layout:
    """The samples of the bank that make up a batch: one row for each utterance.

    rows: (n, 3) first sample in the bank, first sample in the flat batch, number of samples.
    gains: (n,). speeds: (batch,) at which items are read. tokens, phonemes: labels of all items in
    one row, with their counts.
    """

    rows: Numbers
    gains: NDArray[np.float32]
    speeds: NDArray[np.float32]
    tokens: Numbers
    token_counts: Numbers
    phonemes: Numbers
    phoneme_counts: Numbers


@cache
def _readings() -> tuple[Numbers, Numbers, Numbers]:
    """Return the phonemes of all tokens in one array, and each token's start and end in it."""
    known = vocabulary()
    readings = [(), *(known.reading(token) for token in range(1, len(known.tokens) + 1))]
    counts = np.asarray([len(reading) for reading in readings])
    flat = np.asarray([phoneme for reading in readings for phoneme in reading], np.int64)
    return flat, np.cumsum(counts) - counts, counts


def draw_layout(
    speech: Speech,
    rng: np.random.Generator,
    *,
    batch: int,
    samples: int,
    mix: Mapping[str, float],
    speed: float,
    long_silences: bool = True,
) -> Layout:
    """Return a batch at random. samples: length of an item after it is read at its speed."""
    engines = [engine for engine in mix if engine in speech.engines]
    shares = np.asarray([mix[engine] for engine in engines])
    chosen = rng.choice(len(engines), size=batch, p=shares / shares.sum())
    ranges = np.asarray([speech.engines[engine] for engine in engines])[chosen]
    speakers = rng.integers(ranges[:, 0], ranges[:, 1])
    speeds = np.exp(np.clip(rng.normal(0, speed, batch), -0.26, 0.26)).astype(np.float32)
    room = ((samples - MARGIN_S * RATE_HZ) * speeds).astype(np.int64)
    items, said, at = _places(speech, rng, speakers, room, long_silences)
    starts, counts = speech.token_starts[said], speech.token_counts[said]
    tokens = speech.tokens[ragged(starts, counts)]
    readings, reading_starts, reading_counts = _readings()
    phonemes = readings[ragged(reading_starts[tokens], reading_counts[tokens])]
    token_items = np.repeat(items, counts)
    length = round(samples * SLOWEST)
    return Layout(
        rows=np.stack([speech.firsts[said], items * length + at, speech.counts[said]], 1),
        gains=rng.uniform(0.6, 1.0, len(items)).astype(np.float32),
        speeds=speeds,
        tokens=tokens,
        token_counts=np.bincount(token_items, minlength=batch),
        phonemes=phonemes,
        phoneme_counts=np.bincount(np.repeat(token_items, reading_counts[tokens]), minlength=batch),
    )


def _places(
    speech: Speech,
    rng: np.random.Generator,
    speakers: Numbers,
    room: Numbers,
    long_silences: bool,
) -> tuple[Numbers, Numbers, Numbers]:
    """Return item, utterance and first sample in the item for each utterance of a batch.

    speakers, room: of each item its speaker and the samples that it has room for. An utterance that
    is longer than the item is left out; an utterance that no longer fits ends the item; the first
    utterance is moved to the end.
    """
    batch = len(speakers)
    is_long = (rng.random(batch) < LONG_LEADS) & long_silences
    longest_lead_s = np.where(is_long, LONG_LEAD_S, SHORT_LEAD_S)
    pauses_s = PAUSES_S if long_silences else PAUSES_S[:-1]
    at = (rng.uniform(CLOSEST_S, longest_lead_s) * RATE_HZ).astype(np.int64)
    pieces = PIECES[rng.integers(len(PIECES), size=batch)]
    is_open, has_some = np.ones(batch, bool), np.zeros(batch, bool)
    found: list[tuple[Numbers, Numbers, Numbers]] = []
    for piece in range(int(PIECES.max())):
        said = rng.integers(speech.speaker_starts[speakers], speech.speaker_ends[speakers])
        count = speech.counts[said]
        fits = is_open & (piece < pieces) & (count <= room)
        late = at + count > room
        is_open &= ~(fits & late & has_some)
        placed = fits & is_open
        at = np.where(placed & late, room - count, at)
        items = np.flatnonzero(placed)
        found.append((items, said[items], at[items]))
        shortest_s, longest_s = pauses_s[rng.integers(len(pauses_s), size=batch)].T
        pause = (rng.uniform(shortest_s, longest_s) * RATE_HZ).astype(np.int64)
        at = at + np.where(placed, count + pause, 0)
        has_some |= placed
    items, said, first = (np.concatenate(column) for column in zip(*found, strict=True))
    order = np.argsort(items, kind="stable")
    return items[order], said[order], first[order]


def gather(bank: Tensor, layout: Layout, samples: int) -> Tensor:
    """Return the sound of a layout, (batch, SLOWEST * samples), float32 at full scale 1."""
    device = bank.device
    batch, length = len(layout.speeds), round(samples * SLOWEST)
    rows = torch.from_numpy(layout.rows).to(device)
    gains = torch.from_numpy(layout.gains).to(device) / 32768
    sources, targets, counts = rows[:, 0], rows[:, 1], rows[:, 2]
    before = torch.cumsum(counts, 0) - counts
    total = int(layout.rows[:, 2].sum())
    number = torch.repeat_interleave(counts, output_size=total)
    inside = torch.arange(total, device=device) - before[number]
    flat = torch.zeros(batch * length, device=device)
    flat[targets[number] + inside] = bank[sources[number] + inside] * gains[number]
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
    long_silences: bool,
    refresh_s: float,
) -> Iterator[tuple[Tensor, Layout]]:
    """Yield the bank's samples and a layout for each step, from step `first` on.

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
            layout = draw_layout(
                bank.speech, rng, batch=batch, samples=samples, mix=mix, speed=speed,
                long_silences=long_silences,
            )  # fmt: skip
            ready.put((bank.samples, layout))
            step += 1

    threading.Thread(target=draw, daemon=True).start()
    while True:
        yield ready.get()
