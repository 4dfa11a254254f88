"""The word-bank engine: joins recordings of single words into speech.

The pace changes only the pauses between words. Joined words are harder to understand than speech in
one piece, but the voice is that of a real person. Joining takes hardly any time, so its result is
never cached: after a bank is deleted, nothing of the speaker's voice remains.
"""

import hashlib
from collections.abc import Sequence
from contextlib import suppress
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np

from drill.core import audio_files
from drill.core.errors import NoVoice, UserError
from drill.core.models import Clip, Operator, Samples
from drill.voices.effects.finish import WordSpan, finish_clip
from drill.voices.wordbank import BANK_ENGINE
from drill.voices.wordbank.cut import WORD_LEAD_S, WORD_TAIL_S
from drill.voices.wordbank.signal_levels import BANK_RATE_HZ
from drill.voices.wordbank.storage import (
    BANK_FILE,
    WordBank,
    bank_names,
    banks_folder,
    load_bank,
)
from drill.voices.wordbank.words import word_parts
from phonetics.message import Word

# Silence in seconds after a word, by its pause mark, at pace 1: common practice, no source.
_GAPS_S = {"": 0.12, ",": 0.32, ".": 0.5}
_PART_GAP_S = 0.0  # between "twenty" and "six"
_GAP_VARIATION = 0.15  # gaps vary at random by up to this share, as in natural speech


class BankEngine:
    """The engine of all word banks. Thread-safe."""

    name = BANK_ENGINE
    repeatable = True
    cached = False

    @property
    def version(self) -> str:
        """Return a digest of the word lists of all banks."""
        digest = hashlib.sha256()
        for name in bank_names():
            with suppress(OSError):  # another process may have deleted the bank meanwhile
                digest.update((banks_folder() / name / BANK_FILE).read_bytes())
        return f"1 {digest.hexdigest()[:16]}"

    def problem(self) -> str:
        """Return "" if there is a word bank, else a sentence with the remedy."""
        if bank_names():
            return ""
        return "there is no word bank yet; record one with: faintcall record-words NAME"

    def synthesise(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return a whole over at 24 kHz.

        Pitch, formants, breath and melody are those of the recordings; the operator's values are
        ignored.
        Raises: NoVoice if the bank or a word is missing, naming the command that records it;
        UserError if the operator has an accent.
        """
        if operator.accent:
            raise UserError(
                f"accent {operator.accent!r} is not possible with a word bank; leave it out"
            )
        bank = require_bank(operator.voice)
        rng = np.random.default_rng(seed % 2**63)
        sounds: list[Samples] = []
        gaps_s: list[float] = []
        word_indices: list[int] = []  # index of the word to which each sound belongs
        for index, word in enumerate(words):
            parts = _word_sounds(bank, word.say)
            sounds += parts
            word_indices += [index] * len(parts)
            gap_s = _GAPS_S[word.pause] / operator.pace * (1 + _GAP_VARIATION * rng.uniform(-1, 1))
            gaps_s += [_PART_GAP_S] * (len(parts) - 1) + [gap_s]
        joined, sound_times = _join(sounds, gaps_s)
        return finish_clip(joined, BANK_RATE_HZ, _word_spans(words, word_indices, sound_times))


def require_bank(name: str) -> WordBank:
    """Return the bank with this name.

    Raises: NoVoice if there is none, naming the remedy; UserError if it cannot be read.
    """
    bank = load_bank(name)
    if bank is None:
        raise NoVoice(
            f"word bank {name!r} is not on this computer; "
            f"record one with: faintcall record-words {name}, or choose other operators"
        )
    return bank


def _word_sounds(bank: WordBank, word: str) -> list[Samples]:
    """Return the recordings that make up a word. Raises: NoVoice if one is missing."""
    return [
        _read_word(bank, part) for part in ((word,) if word in bank.words else word_parts(word))
    ]


def _read_word(bank: WordBank, word: str) -> Samples:
    """Return the recording of a word. Raises: NoVoice if it is missing or cannot be read."""
    command = f"faintcall record-words {bank.name} --only {word}"
    if word not in bank.words:
        raise NoVoice(f"word bank {bank.name!r} has no word {word!r}; record it with: {command}")
    try:
        return _read_samples(bank.path(word))
    except UserError as error:
        raise NoVoice(f"{error}; record it again with: {command}") from None


@lru_cache(maxsize=128)
def _read_samples(path: Path) -> Samples:
    """Return the samples of a word's file.

    The file name contains a digest of the samples, so the content under a name never changes.
    Raises: UserError if the file cannot be read or was changed.
    """
    clip = audio_files.read_audio(path)
    if clip.rate_hz != BANK_RATE_HZ or clip.seconds <= WORD_LEAD_S + WORD_TAIL_S:
        raise UserError(f"{path} was changed after it was saved")
    return clip.samples


def _join(
    sounds: Sequence[Samples], gaps_s: Sequence[float]
) -> tuple[Samples, list[tuple[float, float]]]:
    """Return the sounds one after another, and the start and end in seconds of each.

    gaps_s: silence after each sound. The lead and tail of the recordings are part of the gaps and
    overlap if a gap is shorter than both; they are ramped and contain only background noise.
    """
    lead, tail = round(WORD_LEAD_S * BANK_RATE_HZ), round(WORD_TAIL_S * BANK_RATE_HZ)
    starts = [0]
    for sound, gap_s in zip(sounds, gaps_s, strict=True):
        starts.append(starts[-1] + len(sound) - lead - tail + round(gap_s * BANK_RATE_HZ))
    joined = np.zeros(starts[-2] + len(sounds[-1]), np.float32)
    times = []
    for sound, start in zip(sounds, starts, strict=False):
        joined[start : start + len(sound)] += sound
        begin, end = start + lead, start + len(sound) - tail
        times.append((begin / BANK_RATE_HZ, end / BANK_RATE_HZ))
    return joined, times


def _word_spans(
    words: Sequence[Word], word_indices: Sequence[int], times: Sequence[tuple[float, float]]
) -> list[WordSpan]:
    """Return the span of each word, from its first sound to its last.

    word_indices: the word of each sound; times: start and end of each sound in seconds.
    """
    firsts = [sound for sound, (a, b) in enumerate(pairwise([-1, *word_indices])) if a != b]
    lasts = [*(sound - 1 for sound in firsts[1:]), len(word_indices) - 1]
    return [
        (word.say, times[first][0], times[last][1])
        for word, first, last in zip(words, firsts, lasts, strict=True)
    ]
