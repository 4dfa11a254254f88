"""Runs a recogniser over sets, conditions and SNRs: parallel, resumable, with progress.

Every cell (set, condition, SNR) becomes one JSON file with a row for each clip, so that a stopped
sweep can be continued. The work is spread by joblib; `cluster` lets it use dask.
"""

import json
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from functools import cache
from pathlib import Path

import joblib
import numpy as np
from tqdm import tqdm

from drill.core.conditions import Conditions, Receiver
from drill.core.models import Clip
from drill.radio.channel import simulate
from drill.radio.presets import load_preset, parse_fading
from drill.recogniser.grammar import Grammar
from drill.recogniser.language import (
    FILLER_WORDS,
    call_grammar,
    character_grammar,
    message_grammar,
    procedure_words,
    words_by_character,
)
from drill.recogniser.own.engine import OwnRecogniser
from drill.recogniser.own.model import AcousticModel, load_model
from phonetics.exchanges import load_exchange
from tests.tools.recogniser_sweep.test_sets import LabelledClip, read_set
from tests.tools.train_recogniser.edits import edit_distance

BATCH = 20
"""Number of clips in one piece of work."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """One point of a sweep. condition: a preset, "fading:NAME", "agc:NAME", "processing:NAME",
    "offset:HZ", "lead:SECONDS" of silence before the words, or "steady". snr_db: None for no noise.
    """

    test_set: str
    condition: str
    snr_db: float | None

    @property
    def file_name(self) -> str:
        """Return the name of the cell's file."""
        snr = "clean" if self.snr_db is None else f"{self.snr_db:+g}"
        return f"{self.test_set}.{self.condition.replace(':', '_')}.{snr}.json"


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """Result for a clip. errors: edit distance of the characters (calls, words) or 0 or 1 for
    each field of an over. right: everything was right. cpu_s: time of the recogniser.
    """

    speaker: str
    said: str
    heard: str
    errors: int
    symbols: int
    right: bool
    confidence: float
    seconds: float
    cpu_s: float


def conditions_of(cell: Cell) -> Conditions:
    """Return the conditions of a cell. Raises: UserError for an unknown condition."""
    kind, _, name = cell.condition.partition(":")
    plain = Conditions(snr_db=cell.snr_db)
    if kind in ("steady", "lead"):
        return plain
    if kind == "fading":
        return replace(plain, fading=parse_fading(name))
    if kind == "agc":
        return replace(plain, receiver=Receiver(agc=name))
    if kind == "processing":
        return replace(plain, transmitter=replace(plain.transmitter, processing=name))
    if kind == "offset":
        transmitter = replace(plain.transmitter, off_frequency_hz=float(name))
        return replace(plain, transmitter=transmitter)
    return replace(load_preset(kind).conditions, snr_db=cell.snr_db)


@cache
def _clips(path: Path) -> list[LabelledClip]:
    return read_set(path)


@cache
def _recogniser(model: Path | None) -> OwnRecogniser:
    content = None if model is None else AcousticModel(model.read_bytes())
    return OwnRecogniser(content or load_model())


@cache
def _grammar(kind: str, exchange: str) -> Grammar:
    if kind == "word":
        return character_grammar(alternates=True)
    if kind == "call":
        return call_grammar(alternates=True)
    return message_grammar(load_exchange(exchange), alternates=True)


def received(clips: Sequence[LabelledClip], number: int, cell: Cell) -> Clip:
    """Return the received audio of a clip; the neighbours say other clips of the set."""
    conditions = conditions_of(cell)
    others = [
        clips[(number + 17 * (k + 1)) % len(clips)].clip for k in range(len(conditions.neighbours))
    ]
    clip = clips[number].clip
    kind, _, seconds = cell.condition.partition(":")
    if kind == "lead":
        silence = np.zeros(round(float(seconds) * clip.rate_hz), np.float32)
        clip = replace(clip, samples=np.concatenate([silence, clip.samples]))
    return simulate(clip, conditions, 1000 + number, others).clip


def measure(folder: Path, cell: Cell, numbers: Sequence[int], model: Path | None) -> list[Row]:
    """Return the rows of some clips of a cell. folder: of the sets."""
    clips = _clips(folder / f"{cell.test_set}.npz")
    recogniser = _recogniser(model)
    rows: list[Row] = []
    for number in numbers:
        label = clips[number].label
        sound = received(clips, number, cell)
        grammar = _grammar(label.kind, label.exchange)
        began = time.thread_time()
        result = recogniser.transcribe(sound, grammar)
        spent = time.thread_time() - began
        if label.kind == "over":
            said = " ".join(word for word in label.words)
            heard = " ".join(unit.word.say for unit in result.units)
            truth = label.call + "|" + " ".join(text for _, text in label.fields)
            errors = edit_distance(said.split(), heard.split())
            right = has_same_content(label.words, heard.split())
            symbols = len(label.words)
        else:
            said, heard, truth = label.call, result.text, label.call
            errors, symbols = edit_distance(said, heard), len(said)
            right = not errors
        rows.append(
            Row(
                speaker=label.speaker, said=said if label.kind == "over" else truth, heard=heard,
                errors=errors, symbols=symbols, right=right,
                confidence=round(result.confidence, 4), seconds=round(sound.seconds, 3),
                cpu_s=round(spent, 4),
            )
        )  # fmt: skip
    return rows


def has_same_content(said: Sequence[str], heard: Sequence[str]) -> bool:
    """Return True if both have the same words, without procedure words and fillers.

    Words that sound alike ("for", "four") and ways to write a number ("fifty-nine", "fifty nine")
    are the same.
    """
    known = load_model().vocabulary
    carrying = {token for words in words_by_character().values() for word in words
                for token in known.tokens_of(word)}  # fmt: skip
    around = {
        token for word in (*procedure_words(), *FILLER_WORDS) for token in known.tokens_of(word)
    }

    def content(words: Sequence[str]) -> list[int]:
        tokens = [token for word in words for token in known.tokens_of(word)]
        return [token for token in tokens if token in carrying or token not in around]

    return content(said) == content(heard)


def run_sweep(
    cells: Iterable[Cell],
    *,
    sets: Path,
    results: Path,
    model: Path | None = None,
    count: int | None = None,
    jobs: int = 1,
) -> None:
    """Measure the cells that have no file yet.

    sets, results: folders. model: a model file, None for the one that ships. count: number of clips
    in each cell, None for all. jobs: number of processes. """  # fmt: skip
    results.mkdir(parents=True, exist_ok=True)
    left = [cell for cell in cells if not (results / cell.file_name).exists()]
    for cell in tqdm(left, desc="cells", mininterval=2):
        total = len(_clips(sets / f"{cell.test_set}.npz"))
        numbers = list(range(min(total, count or total)))
        parts = joblib.Parallel(n_jobs=jobs)(
            joblib.delayed(measure)(sets, cell, part, model) for part in _parts(numbers)
        )
        rows = [asdict(row) for part in parts for row in part]
        new = results / f"{cell.file_name}.new"
        new.write_text(json.dumps({"cell": asdict(cell), "rows": rows}))
        new.replace(results / cell.file_name)


def _parts(numbers: Sequence[int]) -> Iterator[Sequence[int]]:
    for start in range(0, len(numbers), BATCH):
        yield numbers[start : start + BATCH]


def read_results(results: Path) -> dict[Cell, list[Row]]:
    """Return the rows of every cell that was measured."""
    found: dict[Cell, list[Row]] = {}
    for path in sorted(results.glob("*.json")):
        data = json.loads(path.read_text())
        found[Cell(**data["cell"])] = [Row(**row) for row in data["rows"]]
    return found


def share_right(rows: Sequence[Row]) -> float:
    """Return the share of clips with everything right."""
    return float(np.mean([row.right for row in rows]))


def share_of_symbols(rows: Sequence[Row]) -> float:
    """Return 1 minus the share of symbol errors, counting insertions."""
    return 1 - sum(row.errors for row in rows) / sum(row.symbols for row in rows)
