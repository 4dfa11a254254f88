"""The bank on the training device: its samples, and tables of speakers, words and positions."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from tests.tools.train_recogniser.bank import Utterance, new_rows
from tests.tools.train_recogniser.speech import RATE_HZ

Numbers = NDArray[np.int64]


def ragged(starts: Numbers, counts: Numbers) -> Numbers:
    """Return the numbers starts[0], starts[0] + 1 and so on, counts[k] of them from each start."""
    before = np.cumsum(counts) - counts
    return np.asarray(np.repeat(starts - before, counts) + np.arange(counts.sum()), np.int64)


@dataclass(frozen=True, kw_only=True, eq=False)
class Speech:
    """Tables of a bank's utterances, those of one speaker side by side.

    firsts, counts: (utterances,) first sample and number of samples of each. tokens: of all
    utterances in one array; token_starts, token_counts: (utterances,) position and number of the
    tokens of each. speaker_starts,
    speaker_ends: (speakers,) ranges of utterances. engines: for each engine its first speaker and
    the one after its last.
    """

    firsts: Numbers
    counts: Numbers
    tokens: Numbers
    token_starts: Numbers
    token_counts: Numbers
    speaker_starts: Numbers
    speaker_ends: Numbers
    engines: Mapping[str, tuple[int, int]]

    @classmethod
    def of(cls, rows: Mapping[str, list[tuple[int, Utterance]]]) -> "Speech":
        """Return the tables of utterances with the first sample of each, given by engine."""
        ordered: list[tuple[int, Utterance]] = []
        starts: list[int] = []
        engines: dict[str, tuple[int, int]] = {}
        for engine, said in rows.items():
            first_speaker, speaker = len(starts), None
            for first, row in sorted(said, key=lambda entry: (entry[1].speaker, entry[0])):
                if row.speaker != speaker:
                    starts.append(len(ordered))
                    speaker = row.speaker
                ordered.append((first, row))
            if len(starts) > first_speaker:
                engines[engine] = first_speaker, len(starts)
        token_counts = np.asarray([len(row.tokens) for _, row in ordered], np.int64)
        return cls(
            firsts=np.asarray([first for first, _ in ordered], np.int64),
            counts=np.asarray([row.count for _, row in ordered], np.int64),
            tokens=np.asarray([token for _, row in ordered for token in row.tokens], np.int64),
            token_starts=np.cumsum(token_counts) - token_counts,
            token_counts=token_counts,
            speaker_starts=np.asarray(starts, np.int64),
            speaker_ends=np.asarray([*starts[1:], len(ordered)][: len(starts)], np.int64),
            engines=engines,
        )

    def hours(self) -> Mapping[str, float]:
        """Return the hours of sound of each engine."""
        seconds = np.concatenate([[0], np.cumsum(self.counts)]) / RATE_HZ
        ranges = {
            engine: (self.speaker_starts[first], self.speaker_ends[after - 1])
            for engine, (first, after) in self.engines.items()
        }
        return {
            engine: round(float(seconds[after] - seconds[first]) / 3600, 2)
            for engine, (first, after) in ranges.items()
        }


class DeviceBank:
    """The bank's samples on a device, and its utterances.

    samples: (n,) int16. speech: tables of the utterances.
    """

    def __init__(self, folder: Path, device: torch.device) -> None:
        """Read the bank in the folder."""
        self._folder, self._device = folder, device
        self._read: dict[str, int] = {}
        self._rows: dict[str, list[tuple[int, Utterance]]] = {}
        self.samples: Tensor = torch.zeros(0, dtype=torch.int16, device=device)
        self.speech = Speech.of({})
        self.refresh()

    def refresh(self) -> None:
        """Read the shards written since the last call."""
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
            self._rows.setdefault(path.stem.rpartition("_")[0], []).extend(
                (start + row.first - first, row) for row in rows
            )
            start += count
        if len(parts) > 1:
            self.samples = torch.cat(parts)
            self.speech = Speech.of(self._rows)
