"""The work of the voice gate on disk: clips and results, so that a run can be continued.

Each clip is synthesised once. A result is kept under the digest of its clips and the version of its
recogniser, so a new recogniser or a changed operator repeats only the work that depends on it.
"""

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from drill.core.models import Clip, Operator
from drill.recogniser.own.engine import OwnRecogniser
from drill.voices import find_engine, speak_uncached
from drill.voices.cache import SpeechCache, cache_key
from phonetics.message import Word
from tests.tools.pitch import median_pitch_hz
from tests.tools.voice_gate.judge import (
    NOISES,
    SNRS_DB,
    WordCount,
    call_threshold_db,
    count_words,
    shares_in_noise,
    speak_calls,
)
from tests.tools.voice_gate.recognisers import gate_recogniser

RECOGNISERS = ("own", "whisper")
_LIMIT_BYTES = 10**10


@dataclass(frozen=True, kw_only=True, slots=True)
class OperatorResult:
    """Results of an operator. pitch_hz: measured median. counts: by recogniser.

    threshold_db: SNR at which `own` copies half of whole calls; NaN if it stays below half.
    """

    operator: Operator
    pitch_hz: float
    counts: dict[str, WordCount]
    threshold_db: float


class GateWork:
    """The folder of a gate."""

    def __init__(self, folder: Path) -> None:
        """Use the folder, which is created at the first write."""
        self._results = folder / "results"
        self._clips = SpeechCache(folder / "clips", limit_bytes=_LIMIT_BYTES)

    def speak(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return a clip, synthesised only if it is not on disk. Raises: NoVoice."""
        engine_version = find_engine(operator.engine).version
        key = cache_key(words, operator, seed, engine_version=engine_version)
        return self._clips.get(key, lambda: speak_uncached(words, operator, seed))

    def measure(
        self, operator: Operator, *, calls: int, seed: str, noise: bool = True
    ) -> OperatorResult:
        """Return an operator's results. Raises: NoVoice, ResourceUnavailable."""
        spoken = speak_calls(operator, self.speak, calls=calls, seed=seed)
        digest = _digest_of_clips(spoken)
        counts = {
            name: self._count_words(name, spoken, f"{operator.name} {digest}")
            for name in RECOGNISERS
        }
        return OperatorResult(
            operator=operator,
            pitch_hz=float(np.median([median_pitch_hz(clip) for _, clip in spoken])),
            counts=counts,
            threshold_db=self._threshold_db(spoken, f"{operator.name} {digest}") if noise else
            float("nan"),
        )  # fmt: skip

    def _count_words(self, name: str, spoken: Sequence[tuple[str, Clip]], what: str) -> WordCount:
        recogniser = gate_recogniser(name)

        def count() -> dict[str, Any]:
            result = count_words(recogniser, spoken)
            return {"words": result.words, "wrong": result.wrong, "mistakes": result.mistakes}

        data = self._kept(f"{what} {name} {recogniser.version}", count)
        mistakes = tuple((call, text) for call, text in data["mistakes"])
        return WordCount(words=data["words"], wrong=data["wrong"], mistakes=mistakes)

    def _threshold_db(self, spoken: Sequence[tuple[str, Clip]], what: str) -> float:
        own = OwnRecogniser()
        key = f"{what} noise {own.version} {SNRS_DB} {NOISES}"
        data = self._kept(key, lambda: {"shares": list(shares_in_noise(own, spoken).items())})
        shares = {float(snr_db): float(share) for snr_db, share in data["shares"]}
        return call_threshold_db(shares, len(spoken) * NOISES)

    def _kept(self, key: str, measure: Callable[[], dict[str, Any]]) -> dict[str, Any]:
        """Return a result from its file; if there is none, measure and write it."""
        path = self._results / f"{hashlib.sha256(key.encode()).hexdigest()[:32]}.json"
        try:
            return dict(json.loads(path.read_text("utf-8")))
        except (OSError, ValueError):
            data = measure()
        self._results.mkdir(parents=True, exist_ok=True)
        new = path.with_suffix(".new")
        new.write_text(json.dumps({"key": key, **data}), "utf-8")
        new.replace(path)
        return data


def _digest_of_clips(spoken: Sequence[tuple[str, Clip]]) -> str:
    digest = hashlib.sha256()
    for call, clip in spoken:
        digest.update(call.encode() + clip.samples.tobytes())
    return digest.hexdigest()[:16]
