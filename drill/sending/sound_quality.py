"""Measures the sound of a take: level, clipping, noise, mains hum, spectral balance.

Conventions: levels are as in drill.radio.levels. The quiet part of a take is everything that is at
least GUARD_S away from every recognised word.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import FloatArray, true_runs
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.radio.levels import SpeechLevel, decibels, speech_level
from drill.recogniser import RecognisedWord
from drill.sending.models import SoundQuality

GUARD_S = 0.2
"""A recogniser may end a word up to this long before its sound ends."""
QUALITY_FRAME_S = 0.02
MIN_QUIET_S, MAX_QUIET_S = 0.2, 3.0
"""Shorter quiet parts are not measured; the hum is measured in the beginning of longer ones."""
QUIET_BELOW_SPEECH_DB = 10.0
"""Without recognised words, frames this far below the active speech level count as quiet."""
MIN_TAKE_S, MAX_TAKE_S = 0.3, 60.0
MAX_SPEECH_TO_NOISE_DB = 90.0
"""Greater distances are reported as this value, because digital silence has no level."""
CLIPPING_LEVEL, MIN_CLIPPED_RUN = 0.985, 3
"""A flat top is this many samples in a row above this fraction of the peak."""
MAINS_HZ = (50.0, 60.0)
MAINS_SPREAD_HZ, MAINS_STEP_HZ = 0.2, 0.1
HARMONICS = 8
MIN_HUM_F_RATIO = 40.0
"""Mean power of the hum's sines relative to the power expected from noise (F statistic of the
fit)."""
BASS_HZ, TREBLE_HZ, PASSBAND_HZ = (300.0, 800.0), (1500.0, 2700.0), (300.0, 2700.0)
LOWEST_SPEECH_HZ = 80.0


def check_take_clip(clip: Clip) -> SpeechLevel:
    """Return the active speech level of a take.

    Raises: UserError if it is shorter than MIN_TAKE_S, longer than MAX_TAKE_S, or silent.
    """
    if clip.seconds < MIN_TAKE_S:
        raise UserError(
            f"the take lasts {clip.seconds:.2f} s; say the whole prompt, at least {MIN_TAKE_S} s"
        )
    if clip.seconds > MAX_TAKE_S:
        raise UserError(
            f"the take lasts {clip.seconds:.0f} s; give a recording of at most {MAX_TAKE_S:.0f} s"
        )
    try:
        return speech_level(clip.samples, clip.rate_hz)
    except ValueError:
        raise UserError(
            "the take is silent; check that the microphone is on and its gain is up"
        ) from None


def measure_sound_quality(clip: Clip, words: Sequence[RecognisedWord]) -> SoundQuality:
    """Return the measurements of a take's sound; words: the words recognised in it.

    Raises: UserError as check_take_clip.
    """
    level_db = check_take_clip(clip).active_db
    samples = clip.samples.astype(np.float64)
    quiet = _quiet_samples(clip, words, level_db)
    speech_to_noise_db = hum_to_speech_db = None
    mains_hz = 0.0
    if np.count_nonzero(quiet) >= MIN_QUIET_S * clip.rate_hz:
        hum_db, mains_hz, noise = _separate_hum(samples, quiet, clip.rate_hz)
        noise_db = _noise_level_db(noise, clip.rate_hz)
        speech_to_noise_db = round(min(MAX_SPEECH_TO_NOISE_DB, level_db - noise_db), 1)
        hum_to_speech_db = None if hum_db is None else round(hum_db - level_db, 1)
    speech = samples[~quiet] if np.any(~quiet) else samples
    treble_to_bass_db, passband_share = _spectral_balance(speech, clip.rate_hz)
    return SoundQuality(
        seconds=round(clip.seconds, 3),
        level_db=round(level_db, 2),
        peak_db=round(2 * decibels(float(np.max(np.abs(samples)))), 2),
        clipped_share=round(_clipped_share(samples), 6),
        speech_to_noise_db=speech_to_noise_db,
        hum_to_speech_db=hum_to_speech_db,
        mains_hz=mains_hz,
        treble_to_bass_db=round(treble_to_bass_db, 1),
        passband_share=round(passband_share, 3),
    )


def _quiet_samples(
    clip: Clip, words: Sequence[RecognisedWord], level_db: float
) -> NDArray[np.bool_]:
    """Return a flag for each sample, shape (n,): True in the quiet part."""
    quiet = np.ones(len(clip.samples), np.bool_)
    if not words:
        frame_length = round(QUALITY_FRAME_S * clip.rate_hz)
        guard_length = round(GUARD_S * clip.rate_hz)
        frames = np.resize(
            clip.samples.astype(np.float64), (len(quiet) // frame_length, frame_length)
        )
        frame_db = 10 * np.log10(np.mean(frames**2, axis=1) + 1e-14)
        for start in np.flatnonzero(frame_db > level_db - QUIET_BELOW_SPEECH_DB) * frame_length:
            quiet[max(0, start - guard_length) : start + frame_length + guard_length] = False
    for word in words:
        first = max(0, round((word.start_s - GUARD_S) * clip.rate_hz))
        quiet[first : round((word.end_s + GUARD_S) * clip.rate_hz)] = False
    return quiet


def _noise_level_db(noise: FloatArray, rate_hz: int) -> float:
    """Return the level of the median frame, which a click hardly changes.

    For Gaussian noise in frames of many samples, the median is close to the mean.
    """
    frame_length = round(QUALITY_FRAME_S * rate_hz)
    frames = noise[: len(noise) // frame_length * frame_length].reshape(-1, frame_length)
    return decibels(max(float(np.median(np.var(frames, axis=1))), 1e-14))


def _clipped_share(samples: FloatArray) -> float:
    """Return the share of samples in flat tops of either sign."""
    limit = CLIPPING_LEVEL * np.max(np.abs(samples))
    runs = (*true_runs(samples >= limit), *true_runs(samples <= -limit))
    return sum(end - first for first, end in runs if end - first >= MIN_CLIPPED_RUN) / len(samples)


def _separate_hum(
    samples: FloatArray, quiet: NDArray[np.bool_], rate_hz: int
) -> tuple[float | None, float, FloatArray]:
    """Return the level of the mains hum in dB, its frequency, and the quiet part without it.

    Level and frequency are None and 0 if there is no hum. Sines at multiples of the mains frequency
    are fitted to the quiet part by least squares; an F ratio compares the power that they explain
    with the power that they would explain in noise.
    """
    indices = np.flatnonzero(quiet)[: round(MAX_QUIET_S * rate_hz)]
    time_s = indices / rate_hz
    noise = samples[indices] - np.mean(samples[indices])
    total = float(noise @ noise)
    explained, mains_hz, power, remainder = 0.0, 0.0, 0.0, noise
    offsets_hz = np.arange(-MAINS_SPREAD_HZ, MAINS_SPREAD_HZ + 0.01, MAINS_STEP_HZ)
    for nominal_hz in MAINS_HZ:
        for fundamental_hz in offsets_hz + nominal_hz:
            phases = 2 * np.pi * fundamental_hz * np.outer(time_s, np.arange(1, HARMONICS + 1))
            waves = np.hstack([np.cos(phases), np.sin(phases)])
            amplitudes, *_ = np.linalg.lstsq(waves.T @ waves, waves.T @ noise, rcond=None)
            residual = noise - waves @ amplitudes
            if total - float(residual @ residual) > explained:
                explained = total - float(residual @ residual)
                mains_hz, power = nominal_hz, float(np.sum(amplitudes**2)) / 2
                remainder = residual
    parameters = 2 * HARMONICS
    by_chance = (total - explained) / (len(noise) - parameters)
    if by_chance <= 0 or explained / parameters < MIN_HUM_F_RATIO * by_chance or power <= 0:
        return None, 0.0, noise
    return decibels(power), mains_hz, remainder


def _spectral_balance(samples: FloatArray, rate_hz: int) -> tuple[float, float]:
    """Return the level of treble relative to bass in dB, and the share of power in the passband."""
    from scipy.signal import welch  # slow to import

    frequency, density = welch(samples, rate_hz, nperseg=min(len(samples), rate_hz // 25))

    def power(low_hz: float, high_hz: float) -> float:
        return float(np.sum(density[(frequency >= low_hz) & (frequency < high_hz)])) + 1e-20

    treble_to_bass_db = decibels(power(*TREBLE_HZ) / power(*BASS_HZ))
    return treble_to_bass_db, power(*PASSBAND_HZ) / power(LOWEST_SPEECH_HZ, rate_hz / 2)
