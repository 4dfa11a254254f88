"""Recordings of words that nobody spoke: what the tests of word banks have at the microphone."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from drill.voices import find_engine
from drill.voices.operators import find_operator
from drill.voices.wordbank import folder
from drill.voices.wordbank.cut import cut
from drill.voices.wordbank.folder import Bank, Consent
from phonetics.message import Word

Sound = NDArray[np.float64]

RATE_HZ = 16_000
CONSENT = Consent(speaker="Test Voice", at="2026-03-01T09:00:00+00:00")


def noise(seconds: float, level_db: float, seed: int = 0, rate_hz: int = RATE_HZ) -> Sound:
    """Return white noise of that level, full scale 1."""
    rng = np.random.default_rng(seed)
    return rng.normal(0, 10 ** (level_db / 20), round(seconds * rate_hz))


def word(
    seconds: float = 0.5, level_db: float = -20.0, pitch_hz: float = 120.0, rate_hz: int = RATE_HZ
) -> Sound:
    """Return a sound shaped like a word of two syllables: harmonics that swell and fade twice."""
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    tone = sum(np.sin(2 * np.pi * n * pitch_hz * time + n * n) / n for n in range(1, 12))
    shape = np.abs(np.sin(2 * np.pi * time / seconds)) ** 0.5
    sound = np.asarray(tone) * shape
    return np.asarray(sound * 10 ** (level_db / 20) / np.sqrt(np.mean(sound**2)))


def recorded(
    sound: Sound, *, before: float = 0.4, after: float = 0.7, noise_db: float = -70.0, seed: int = 0
) -> Sound:
    """Return the sound in a quiet room, seconds before and after it."""
    size = round(before * RATE_HZ), round(after * RATE_HZ)
    padded = np.pad(sound, size)
    return padded + noise(len(padded) / RATE_HZ, noise_db, seed)[: len(padded)]


def spoken(words: Sequence[str], who: str = "tin") -> Mapping[str, tuple[Sound, int]]:
    """Return what a formant operator says for each word, in one go, cut in the pauses."""
    over = [Word(say=each, pause=".") for each in words]
    clip = find_engine("formant").synthesise(over, find_operator(who), 1)
    edges = [
        0,
        *((a.end_s + b.start_s) / 2 for a, b in zip(clip.words, clip.words[1:], strict=False)),
        clip.seconds,
    ]
    cuts = [round(edge * clip.rate_hz) for edge in edges]
    return {
        each: (clip.samples[a:b].astype(np.float64), clip.rate_hz)
        for each, a, b in zip(words, cuts, cuts[1:], strict=False)
    }


def bank_of(name: str, words: Iterable[str]) -> Bank:
    """Return a bank on the disk, in a voice that is synthetic."""
    bank = folder.create(name, CONSENT)
    for each, (sound, rate_hz) in spoken(list(words)).items():
        made = cut(sound, rate_hz)
        bank = folder.keep(bank, each, made.samples, made.seconds)
    return bank
