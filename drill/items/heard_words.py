"""How each word of an item arrived: its time, its level above the noise, and its fading."""

from dataclasses import dataclass

import numpy as np

from drill.core.models import Clip, Item, Samples
from drill.items.render import synthesise_item
from drill.radio import AUDIO_RATE_HZ
from drill.radio.channel import LEAD_IN_S, apply_edge_ramps
from drill.radio.filters import noise_bandwidth_hz
from drill.radio.levels import REFERENCE_BANDWIDTH_HZ, decibels
from drill.radio.receiver import receiver_passband
from drill.radio.separate import separate

QUIET_DB = -60.0
"""Lower levels are reported as this value."""
TRACK_STEP_S = 0.05
HEARD_WORD_MARGIN_S = 0.08
"""Length of sound before and after a word that is played alone."""


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardWord:
    """One word of an item as it arrived at the receiver.

    say, means, field: of the word in the message. start_s, end_s: in the item's audio. snr_db:
    level of the word against the noise in 3 kHz, after fading; None without noise. faded_db: change
    of the word's level by fading, negative if it fell. others_db: level of noise and other stations
    together during the word, relative to the mean noise, after the receiver's filter; None without
    noise.
    """

    say: str
    means: str
    field: str
    start_s: float
    end_s: float
    snr_db: float | None
    faded_db: float
    others_db: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class LevelTrack:
    """Levels over the time of an item, one value every TRACK_STEP_S, in dB.

    voice_db: of the wanted station after fading. rest_db: of noise and other stations. Both are
    levels after the receiver's filter, relative to a voice of 0 dB before fading, and at least
    QUIET_DB.
    """

    voice_db: tuple[float, ...]
    rest_db: tuple[float, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardItem:
    """All words of an item in the order in which they were spoken, and the levels over time."""

    words: tuple[HeardWord, ...]
    levels: LevelTrack


def hear_words(item: Item) -> HeardItem:
    """Return the words of an item as they arrived; the item is rendered again from its seed.

    Raises: NoVoice if an engine is missing or fails.
    """
    wanted, *neighbours = synthesise_item(item)
    parts = separate(wanted, item.conditions, item.seed, neighbours)
    floor_db = noise_floor_db(item, parts.noise_db)
    words = []
    for word, time in zip(item.message.words, wanted.words, strict=True):
        start_s, end_s = time.start_s + LEAD_IN_S, time.end_s + LEAD_IN_S
        span = slice(round(start_s * AUDIO_RATE_HZ), round(end_s * AUDIO_RATE_HZ))
        voice_db = _level_db(parts.voice[span])
        words.append(
            HeardWord(
                say=word.say,
                means=word.means,
                field=word.field,
                start_s=start_s,
                end_s=end_s,
                snr_db=None if parts.noise_db is None else voice_db - parts.noise_db,
                faded_db=voice_db - _level_db(parts.unfaded[span]),
                others_db=None if floor_db is None else _level_db(parts.rest[span]) - floor_db,
            )
        )
    levels = LevelTrack(voice_db=_track(parts.voice), rest_db=_track(parts.rest))
    return HeardItem(words=tuple(words), levels=levels)


def noise_floor_db(item: Item, noise_db: float | None) -> float | None:
    """Return the mean level of the noise after the receiver's filter; None without noise.

    noise_db: its level in 3 kHz.
    """
    if noise_db is None:
        return None
    width_hz = noise_bandwidth_hz(receiver_passband(item.conditions.receiver))
    return noise_db + decibels(width_hz / REFERENCE_BANDWIDTH_HZ)


def word_clip(clip: Clip, number: int) -> Clip:
    """Return one word of a clip alone, with ramps at both ends; number: from 0.

    Raises: IndexError if the clip has no such word.
    """
    word = clip.words[number]
    first = max(0, round((word.start_s - HEARD_WORD_MARGIN_S) * clip.rate_hz))
    samples = clip.samples[first : round((word.end_s + HEARD_WORD_MARGIN_S) * clip.rate_hz)].copy()
    apply_edge_ramps(samples)
    return Clip(samples=samples, rate_hz=clip.rate_hz)


def _level_db(samples: Samples) -> float:
    power = float(np.mean(np.square(samples, dtype=np.float64))) if len(samples) else 0.0
    return max(QUIET_DB, decibels(max(power, 1e-12)))


def _track(samples: Samples) -> tuple[float, ...]:
    step = round(TRACK_STEP_S * AUDIO_RATE_HZ)
    blocks = samples[: len(samples) // step * step].reshape(-1, step)
    return tuple(round(_level_db(block), 1) for block in blocks)
