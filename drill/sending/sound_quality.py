"""What is measured of a take's sound: level, clipping, noise, hum, balance.

Conventions: levels as in drill.radio.levels. Quiet is what lies at least GUARD_S away from every
word heard.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import true_runs
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.radio.levels import SpeechLevel, decibels, speech_level
from drill.recogniser import RecognisedWord
from drill.sending.models import Sound

GUARD_S = 0.12
FRAME_S = 0.02
LEAST_QUIET_S, MOST_QUIET_S = 0.2, 3.0
WEAK_DB = 10.0
"""What lies so far below the active level is none of the voice, where no words tell."""
SHORTEST_S, LONGEST_S = 0.3, 60.0
MOST_DB = 90.0
"""Noise further below the voice than this is none."""
TOP = 0.985
RUN = 3
"""A flat top: at least so many samples in a row above TOP of the peak."""
MAINS_HZ = (50.0, 60.0)
MAINS_SPREAD_HZ = 0.2
HARMONICS = 8
CERTAIN = 40.0
"""Power of the mains' harmonics over what chance would give them, for hum to be called so."""

Floats = NDArray[np.float64]


def check(clip: Clip) -> SpeechLevel:
    """Return the active level of a take. Raises: UserError where it is no speech to judge."""
    if clip.seconds < SHORTEST_S:
        raise UserError(
            f"the take lasts {clip.seconds:.2f} s; say the whole of it, {SHORTEST_S} s at least"
        )
    if clip.seconds > LONGEST_S:
        raise UserError(
            f"the take lasts {clip.seconds:.0f} s; at most {LONGEST_S:.0f} s are reviewed at once"
        )
    try:
        return speech_level(clip.samples, clip.rate_hz)
    except ValueError:
        raise UserError(
            "the take is silent; look whether the microphone is on and its gain is up"
        ) from None


def measure(clip: Clip, words: Sequence[RecognisedWord]) -> Sound:
    """Return the figures of a take's sound; words: those heard in it, with their times.

    Raises: UserError as check.
    """
    level_db = check(clip).active_db
    samples = clip.samples.astype(np.float64)
    quiet = _quiet(clip, words, level_db)
    noise_db = hum_db = None
    mains_hz = 0.0
    if np.count_nonzero(quiet) >= LEAST_QUIET_S * clip.rate_hz:
        hum_db, mains_hz, rest = _hum(samples, quiet, clip.rate_hz)
        noise_db = min(MOST_DB, level_db - _noise_level(rest, clip.rate_hz))
    balance_db, passed = _spectrum(samples[~quiet] if np.any(~quiet) else samples, clip.rate_hz)
    return Sound(
        seconds=round(clip.seconds, 3),
        level_db=round(level_db, 2),
        peak_db=round(2 * decibels(float(np.max(np.abs(samples)))), 2),
        clipped=round(_clipped(samples), 6),
        noise_db=None if noise_db is None else round(noise_db, 1),
        hum_db=None if hum_db is None else round(hum_db - level_db, 1),
        mains_hz=mains_hz,
        balance_db=round(balance_db, 1),
        passed=round(passed, 3),
    )


def _quiet(clip: Clip, words: Sequence[RecognisedWord], level_db: float) -> NDArray[np.bool_]:
    """Return where nothing is said, a flag a sample; without words, where it is far less loud."""
    quiet = np.ones(len(clip.samples), np.bool_)
    if not words:
        size = round(FRAME_S * clip.rate_hz)
        whole = np.resize(clip.samples.astype(np.float64), (len(quiet) // size, size))
        loud = 10 * np.log10(np.mean(whole**2, axis=1) + 1e-14) > level_db - WEAK_DB
        for at in np.flatnonzero(loud) * size:
            guard = round(GUARD_S * clip.rate_hz)
            quiet[max(0, at - guard) : at + size + guard] = False
    for word in words:
        first = max(0, round((word.start_s - GUARD_S) * clip.rate_hz))
        quiet[first : round((word.end_s + GUARD_S) * clip.rate_hz)] = False
    return quiet


def _noise_level(rest: Floats, rate_hz: int) -> float:
    """Return the level in dB of the median frame of what is quiet: a click changes little.

    The median of Gaussian noise in frames of many samples is close to its mean.
    """
    size = round(FRAME_S * rate_hz)
    frames = rest[: len(rest) // size * size].reshape(-1, size)
    power = float(np.median(np.var(frames, axis=1)))
    return decibels(max(power, 1e-14))


def _clipped(samples: Floats) -> float:
    """Return the share of samples in flat tops, at either sign."""
    top = TOP * np.max(np.abs(samples))
    total = 0
    for high in (samples >= top, samples <= -top):
        total += sum(b - a for a, b in true_runs(high) if b - a >= RUN)
    return total / len(samples)


def _hum(
    samples: Floats, quiet: NDArray[np.bool_], rate_hz: int
) -> tuple[float | None, float, Floats]:
    """Return level in dB and frequency of mains hum, None and 0 for none, and the quiet without.

    Sines at the multiples of the mains frequency are fitted to the quiet parts by least squares;
    what they explain is held against what they would explain of noise (F ratio).
    """
    at = np.flatnonzero(quiet)[: round(MOST_QUIET_S * rate_hz)]
    time = at / rate_hz
    rest = samples[at] - np.mean(samples[at])
    whole = float(rest @ rest)
    best, kept = (0.0, 0.0, 0.0), rest
    for mains_hz in MAINS_HZ:
        for f in np.arange(-MAINS_SPREAD_HZ, MAINS_SPREAD_HZ + 0.01, 0.1) + mains_hz:
            turns = 2 * np.pi * f * np.outer(time, np.arange(1, HARMONICS + 1))
            waves = np.hstack([np.cos(turns), np.sin(turns)])
            fitted, *_ = np.linalg.lstsq(waves.T @ waves, waves.T @ rest, rcond=None)
            left = rest - waves @ fitted
            explained = whole - float(left @ left)
            if explained > best[0]:
                best, kept = (explained, mains_hz, float(np.sum(fitted**2)) / 2), left
    explained, mains_hz, power = best
    free = 2 * HARMONICS
    chance = (whole - explained) / (len(rest) - free)
    if chance <= 0 or explained / free < CERTAIN * chance or power <= 0:
        return None, 0.0, rest
    return decibels(power), mains_hz, kept


def _spectrum(samples: Floats, rate_hz: int) -> tuple[float, float]:
    """Return the balance in dB and the share of power that SSB passes, of what was said."""
    from scipy.signal import welch

    frequency, density = welch(samples, rate_hz, nperseg=min(len(samples), rate_hz // 25))

    def power(low_hz: float, high_hz: float) -> float:
        return float(np.sum(density[(frequency >= low_hz) & (frequency < high_hz)])) + 1e-20

    balance_db = decibels(power(1500, 2700) / power(300, 800))
    return balance_db, power(300, 2700) / power(80, rate_hz / 2)
