"""Takes with a known defect, made of a voice's clean one: what the review is tried on.

Each defect changes one thing. All sound is from a seed.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from drill import voices
from drill.core.models import Clip, Operator
from drill.radio.levels import power_from_db, speech_level
from drill.sending.expected import characters_spoken
from drill.sending.models import Prompt, Take
from phonetics.message import Word

LEAD_S = 0.4
ROOM_DB = -50.0
"""Noise of a quiet room, against the voice."""
MEANT_DB = -22.0
"""Active level that a take is brought to."""

Words = list[Word]
Said = Callable[[Words, Random], Words]
Sounded = Callable[[Clip, Random], Clip]


def _kept_words(words: Words, rng: Random) -> Words:
    return words


def _characters(words: Sequence[Word]) -> list[int]:
    """Return the places of words that stand for one character."""
    return [at for at, word in enumerate(words) if len(word.means) == 1]


def _wrong(words: Words, rng: Random) -> Words:
    at = rng.choice(_characters(words))
    others = [w for w in characters_spoken(alternates=False) if w not in (words[at].say, "slash")]
    return [*words[:at], replace(words[at], say=rng.choice(others)), *words[at + 1 :]]


def _missing(words: Words, rng: Random) -> Words:
    at = rng.choice([at for at in _characters(words) if not _like(words, at)])
    return [*words[:at], *words[at + 1 :]]


def _like(words: Sequence[Word], at: int) -> bool:
    """Return True where a neighbour is the same word: which of them is missing cannot be told."""
    return words[at].say in [words[n].say for n in (at - 1, at + 1) if 0 <= n < len(words)]


def _order(words: Words, rng: Random) -> Words:
    pairs = [
        at for at in _characters(words)[:-1]
        if at + 1 in _characters(words) and words[at].say != words[at + 1].say
    ]  # fmt: skip
    at = rng.choice(pairs)
    return [*words[:at], words[at + 1], words[at], *words[at + 2 :]]


def _kept_sound(clip: Clip, rng: Random) -> Clip:
    return clip


def _clipped(clip: Clip, rng: Random) -> Clip:
    top = np.max(np.abs(clip.samples)) * 10 ** (-12 / 20)
    return replace(clip, samples=np.clip(clip.samples, -top, top))


def _hum(clip: Clip, rng: Random) -> Clip:
    """Add a mains hum 25 dB below the voice, odd and even harmonics falling."""
    mains_hz = rng.choice((50.0, 60.0)) + rng.uniform(-0.1, 0.1)
    time = np.arange(len(clip.samples)) / clip.rate_hz
    wave = sum(np.sin(2 * np.pi * n * mains_hz * time + rng.uniform(0, 6)) / n for n in range(1, 7))
    return _with(clip, np.asarray(wave), -25.0)


def _noise(clip: Clip, rng: Random) -> Clip:
    sound = np.random.default_rng(rng.getrandbits(32)).standard_normal(len(clip.samples))
    return _with(clip, sound, -15.0)


def _low(clip: Clip, rng: Random) -> Clip:
    return replace(clip, samples=clip.samples * np.float32(10 ** (-30 / 20)))


def _with(clip: Clip, sound: "np.ndarray[tuple[int], np.dtype[np.float64]]", by_db: float) -> Clip:
    """Return the clip with a sound added at a level in dB against its voice."""
    active_db = speech_level(clip.samples, clip.rate_hz).active_db
    scale = np.sqrt(power_from_db(active_db + by_db) / np.mean(sound**2))
    return replace(clip, samples=(clip.samples + scale * sound).astype(np.float32))


@dataclass(frozen=True, kw_only=True, slots=True)
class Defect:
    """How a clean take is spoilt, and the names of the findings of which one is to tell.

    pace: of the voice. gap_s: each word is said by itself, so far from the next; None: all in one.
    """

    told: frozenset[str]
    said: Said = _kept_words
    sound: Sounded = _kept_sound
    pace: float = 1.0
    gap_s: float | None = None


DEFECTS: Mapping[str, Defect] = {
    "none": Defect(told=frozenset()),
    "wrong word": Defect(told=frozenset({"wrong"}), said=_wrong),
    "missing word": Defect(told=frozenset({"missing"}), said=_missing),
    "wrong order": Defect(told=frozenset({"order"}), said=_order),
    "clipping": Defect(told=frozenset({"clipped"}), sound=_clipped),
    "hum": Defect(told=frozenset({"hum"}), sound=_hum),
    "noise": Defect(told=frozenset({"noisy"}), sound=_noise),
    "low level": Defect(told=frozenset({"quiet"}), sound=_low),
    "slow": Defect(told=frozenset({"slow"}), gap_s=0.5),
    "hurried": Defect(told=frozenset({"hurried"}), pace=1.9),
}


def spoilt(prompt: Prompt, operator: Operator, defect: Defect, seed: int) -> Take:
    """Return a take of the prompt by one of our voices, with the defect.

    Raises: NoVoice where the operator's engine is not on this machine.
    """
    rng = Random(f"faintcall defect {seed}")
    words = defect.said(list(prompt.words), rng)
    speaker = replace(operator, pace=operator.pace * defect.pace)
    if defect.gap_s is None:
        clip = voices.speak(tuple(words), speaker, seed)
    else:
        clip = _one_by_one(words, speaker, seed, defect.gap_s)
    return Take(prompt=prompt, clip=defect.sound(in_a_room(clip, rng), rng))


def in_a_room(clip: Clip, rng: Random) -> Clip:
    """Return a voice as a microphone in a quiet room takes it, at a usual level."""
    level_db = speech_level(clip.samples, clip.rate_hz).active_db
    sound = np.pad(clip.samples, round(LEAD_S * clip.rate_hz)) * 10 ** ((MEANT_DB - level_db) / 20)
    room = np.random.default_rng(rng.getrandbits(32)).standard_normal(len(sound))
    sound = sound + room * np.sqrt(power_from_db(MEANT_DB + ROOM_DB))
    return Clip(samples=sound.astype(np.float32), rate_hz=clip.rate_hz)


def _one_by_one(words: Words, speaker: Operator, seed: int, gap_s: float) -> Clip:
    """Return the words each said by itself, gap_s between them."""
    clips = [voices.speak((replace(word, pause=""),), speaker, seed) for word in words]
    gap = np.zeros(round(gap_s * clips[0].rate_hz), np.float32)
    parts = [part for clip in clips for part in (clip.samples, gap)][:-1]
    return Clip(samples=np.concatenate(parts), rate_hz=clips[0].rate_hz)
