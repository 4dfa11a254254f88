"""Takes with one known defect, made from clean synthetic speech, on which the review is tested.

Each defect changes one thing: the words, their pace, or the sound. Everything random follows from a
seed.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from drill import voices
from drill.core.arrays import FloatArray
from drill.core.models import Clip, Operator
from drill.radio.levels import power_from_db, speech_level
from drill.sending.models import Prompt, Take
from drill.sending.take_grammar import substitute_words
from phonetics.message import Word

LEAD_IN_S = 0.4
"""Background noise before and after the voice."""
ROOM_NOISE_DB = -50.0
"""Noise of a quiet room relative to the voice."""
TAKE_LEVEL_DB = -22.0
"""Active speech level of a take."""

Words = list[Word]
ChangeWords = Callable[[Words, Random], Words]
ChangeSound = Callable[[Clip, Random], Clip]


# --- defects of the words


def _same_words(words: Words, rng: Random) -> Words:
    return words


def _character_indices(words: Sequence[Word]) -> list[int]:
    """Return the indices of words that stand for one character."""
    return [index for index, word in enumerate(words) if len(word.means) == 1]


def _replace_word(words: Words, rng: Random) -> Words:
    index = rng.choice(_character_indices(words))
    unchanged = (words[index].say, "slash")
    others = [word for word in substitute_words(alternates=False) if word not in unchanged]
    return [*words[:index], replace(words[index], say=rng.choice(others)), *words[index + 1 :]]


def _leave_out_word(words: Words, rng: Random) -> Words:
    indices = [index for index in _character_indices(words) if not _is_repeated(words, index)]
    index = rng.choice(indices)
    return [*words[:index], *words[index + 1 :]]


def _is_repeated(words: Sequence[Word], index: int) -> bool:
    """Return True if a neighbour is the same word, so that either could be the missing one."""
    neighbours = [words[n].say for n in (index - 1, index + 1) if 0 <= n < len(words)]
    return words[index].say in neighbours


def _swap_words(words: Words, rng: Random) -> Words:
    characters = _character_indices(words)
    first_of_pairs = [
        index
        for index in characters[:-1]
        if index + 1 in characters and words[index].say != words[index + 1].say
    ]
    index = rng.choice(first_of_pairs)
    return [*words[:index], words[index + 1], words[index], *words[index + 2 :]]


# --- defects of the sound


def _same_sound(clip: Clip, rng: Random) -> Clip:
    return clip


def _clip_peaks(clip: Clip, rng: Random) -> Clip:
    """Clip 12 dB below the peak."""
    limit = np.max(np.abs(clip.samples)) * 10 ** (-12 / 20)
    return replace(clip, samples=np.clip(clip.samples, -limit, limit))


def _add_hum(clip: Clip, rng: Random) -> Clip:
    """Add mains hum 25 dB below the voice, with six falling harmonics."""
    mains_hz = rng.choice((50.0, 60.0)) + rng.uniform(-0.1, 0.1)
    time_s = np.arange(len(clip.samples)) / clip.rate_hz
    harmonics = [
        np.sin(2 * np.pi * n * mains_hz * time_s + rng.uniform(0, 6)) / n for n in range(1, 7)
    ]
    return _add_sound(clip, sum(harmonics, np.zeros(len(time_s))), -25.0)


def _add_noise(clip: Clip, rng: Random) -> Clip:
    """Add white noise 15 dB below the voice."""
    noise = np.random.default_rng(rng.getrandbits(32)).standard_normal(len(clip.samples))
    return _add_sound(clip, noise, -15.0)


def _lower_level(clip: Clip, rng: Random) -> Clip:
    """Lower the level by 30 dB."""
    return replace(clip, samples=clip.samples * np.float32(10 ** (-30 / 20)))


def _add_sound(clip: Clip, sound: FloatArray, level_db: float) -> Clip:
    """Return the clip with a sound added; level_db: relative to the active speech level."""
    active_db = speech_level(clip.samples, clip.rate_hz).active_db
    scale = np.sqrt(power_from_db(active_db + level_db) / np.mean(sound**2))
    return replace(clip, samples=(clip.samples + scale * sound).astype(np.float32))


# --- the defects by name


@dataclass(frozen=True, kw_only=True, slots=True)
class Defect:
    """A change that spoils a clean take.

    findings: kinds of findings that report the defect, one of which is expected. pace: factor on
    the voice's pace. gap_s: silence between words that are spoken one by one, None for a whole
    over spoken at once.
    """

    findings: frozenset[str]
    change_words: ChangeWords = _same_words
    change_sound: ChangeSound = _same_sound
    pace: float = 1.0
    gap_s: float | None = None


DEFECTS: Mapping[str, Defect] = {
    "none": Defect(findings=frozenset()),
    "wrong word": Defect(findings=frozenset({"wrong"}), change_words=_replace_word),
    "missing word": Defect(findings=frozenset({"missing"}), change_words=_leave_out_word),
    "wrong order": Defect(findings=frozenset({"order"}), change_words=_swap_words),
    "clipping": Defect(findings=frozenset({"clipped"}), change_sound=_clip_peaks),
    "hum": Defect(findings=frozenset({"hum"}), change_sound=_add_hum),
    "noise": Defect(findings=frozenset({"noisy"}), change_sound=_add_noise),
    "low level": Defect(findings=frozenset({"quiet"}), change_sound=_lower_level),
    "slow": Defect(findings=frozenset({"slow"}), gap_s=0.5),
    "hurried": Defect(findings=frozenset({"hurried"}), pace=1.9),
}


def spoil_take(prompt: Prompt, operator: Operator, defect: Defect, seed: int) -> Take:
    """Return a take of a prompt, spoken by an operator and spoilt by a defect.

    Raises: NoVoice if the operator's engine is missing.
    """
    rng = Random(f"faintcall defect {seed}")
    words = defect.change_words(list(prompt.words), rng)
    speaker = replace(operator, pace=operator.pace * defect.pace)
    if defect.gap_s is None:
        clip = voices.speak(tuple(words), speaker, seed)
    else:
        clip = _speak_one_by_one(words, speaker, seed, defect.gap_s)
    return Take(prompt=prompt, clip=defect.change_sound(record_in_room(clip, rng), rng))


def record_in_room(clip: Clip, rng: Random) -> Clip:
    """Return a voice as a microphone in a quiet room records it: TAKE_LEVEL_DB, room noise."""
    level_db = speech_level(clip.samples, clip.rate_hz).active_db
    gain = 10 ** ((TAKE_LEVEL_DB - level_db) / 20)
    samples = np.pad(clip.samples, round(LEAD_IN_S * clip.rate_hz)) * gain
    noise = np.random.default_rng(rng.getrandbits(32)).standard_normal(len(samples))
    samples = samples + noise * np.sqrt(power_from_db(TAKE_LEVEL_DB + ROOM_NOISE_DB))
    return Clip(samples=samples.astype(np.float32), rate_hz=clip.rate_hz)


def _speak_one_by_one(words: Words, speaker: Operator, seed: int, gap_s: float) -> Clip:
    """Return the words spoken one by one with silence between them."""
    clips = [voices.speak((replace(word, pause=""),), speaker, seed) for word in words]
    gap = np.zeros(round(gap_s * clips[0].rate_hz), np.float32)
    parts = [part for clip in clips for part in (clip.samples, gap)][:-1]
    return Clip(samples=np.concatenate(parts), rate_hz=clips[0].rate_hz)
