"""Synthetic recordings of words, and word banks made of them."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from drill.voices import find_engine
from drill.voices.operators import find_operator
from drill.voices.wordbank.cut import CutWord, cut_word
from drill.voices.wordbank.storage import Consent, WordBank, create_bank, load_bank, save_word
from phonetics.message import Word

Sound = NDArray[np.float64]

RATE_HZ = 16_000
CONSENT = Consent(speaker="Test Voice", at="2026-03-01T09:00:00+00:00")


def white_noise(seconds: float, level_db: float, seed: int = 0) -> Sound:
    """Return white noise at 16 kHz; level_db is its RMS re full scale."""
    rng = np.random.default_rng(seed)
    return rng.normal(0, 10 ** (level_db / 20), round(seconds * RATE_HZ))


def word_sound(
    seconds: float = 0.5, level_db: float = -20.0, pitch_hz: float = 120.0, rate_hz: int = RATE_HZ
) -> Sound:
    """Return a sound like a word of two syllables: harmonics that swell and fade twice."""
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    tone = sum(np.sin(2 * np.pi * n * pitch_hz * time + n * n) / n for n in range(1, 12))
    envelope = np.abs(np.sin(2 * np.pi * time / seconds)) ** 0.5
    sound = np.asarray(tone) * envelope
    return np.asarray(sound * 10 ** (level_db / 20) / np.sqrt(np.mean(sound**2)))


def in_room(
    sound: Sound, *, before: float = 0.4, after: float = 0.7, noise_db: float = -70.0, seed: int = 0
) -> Sound:
    """Return the sound in background noise, with seconds of noise alone before and after it."""
    padded = np.pad(sound, (round(before * RATE_HZ), round(after * RATE_HZ)))
    return padded + white_noise(len(padded) / RATE_HZ, noise_db, seed)[: len(padded)]


def recorded_word(seed: int = 0) -> Sound:
    """Return a word in a quiet room; its length is 0.4 s and 0.05 s more for each seed."""
    return in_room(word_sound(0.4 + 0.05 * seed), seed=seed)


def cut_example(seed: int = 0) -> CutWord:
    """Return a word of 0.5 s, cut from a recording."""
    return cut_word(in_room(word_sound(), seed=seed), RATE_HZ)


def _synthesise_words(words: Sequence[str]) -> Mapping[str, tuple[Sound, int]]:
    """Return sound and sample rate of each word, synthesised in one over and cut in the pauses."""
    over = [Word(say=word, pause=".") for word in words]
    clip = find_engine("formant").synthesise(over, find_operator("tin"), 1)
    edges_s = [
        0,
        *((a.end_s + b.start_s) / 2 for a, b in zip(clip.words, clip.words[1:], strict=False)),
        clip.seconds,
    ]
    cuts = [round(edge_s * clip.rate_hz) for edge_s in edges_s]
    return {
        word: (clip.samples[start:stop].astype(np.float64), clip.rate_hz)
        for word, start, stop in zip(words, cuts, cuts[1:], strict=False)
    }


def create_bank_with(name: str, words: Iterable[str]) -> WordBank:
    """Create a bank on disk with these words, spoken by a formant operator, and return it."""
    bank = create_bank(name, CONSENT)
    for word, (sound, rate_hz) in _synthesise_words(list(words)).items():
        recording = cut_word(sound, rate_hz)
        bank = save_word(bank, word, recording.samples, recording.seconds)
    return bank


def words_in_bank(name: str) -> set[str]:
    """Return the recorded words of a bank that exists."""
    bank = load_bank(name)
    assert bank is not None
    return set(bank.words)
