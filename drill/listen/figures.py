"""Figures of one received over: delivered SNR, levels and fading."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Conditions, Neighbour, Receiver
from drill.core.models import Clip
from drill.core.random_streams import random_stream
from drill.radio import BASEBAND_RATE_HZ
from drill.radio.channel import ReceivedAudio
from drill.radio.fading import WattersonFading
from drill.radio.filters import apply_filter
from drill.radio.levels import decibels, speech_level
from drill.radio.neighbours import tune
from drill.radio.receiver import receiver_filter
from drill.radio.transmitter import Emission

LEVEL_BLOCK_S = 0.02
SILENT_POWER = 1e-12
EDGE_SAMPLES = 32
"""The delay filter smears the start of a carrier over fewer samples."""
WEAK_FADING_DB = -10.0
"""Fading below this level counts as weak."""


@dataclass(frozen=True, kw_only=True, slots=True)
class NeighbourFigures:
    """Levels of a neighbour before fading, as SNR in 3 kHz, dB.

    requested_db: as in the conditions. measured_db: active speech level of its transmission.
    passband_db: of the part that the receiver's filter passes.
    """

    offset_hz: float
    requested_db: float
    measured_db: float
    passband_db: float


@dataclass(frozen=True, kw_only=True, slots=True)
class AudioFigures:
    """Measurements of one received over.

    snr_db: delivered SNR, None without noise. processing_gain_db: the part of it that comes from
    speech processing. pep_over_speech_db: the station's PEP relative to its active speech level.
    mean_db, peak_db: levels of the audio relative to full scale. level_quantiles_db: levels that
    the audio is below for 10, 50 and 90 % of the time. fading_range_db: lowest and highest gain of
    the path at 1500 Hz of audio, None if the path is steady. weak_share: share of the time with a
    gain below WEAK_FADING_DB, 0 to 1. neighbours: levels of each neighbour.
    """

    seconds: float
    snr_db: float | None
    processing_gain_db: float
    pep_over_speech_db: float
    mean_db: float
    peak_db: float
    level_quantiles_db: tuple[float, float, float]
    fading_range_db: tuple[float, float] | None
    weak_share: float
    neighbours: tuple[NeighbourFigures, ...] = ()


def measure_audio(received: ReceivedAudio, conditions: Conditions, seed: int) -> AudioFigures:
    """Return the figures of an over that was received under these conditions with this seed."""
    clip = received.clip
    samples = clip.samples.astype(np.float64)
    low_db, middle_db, high_db = np.quantile(block_levels_db(clip), (0.1, 0.5, 0.9))
    steady = conditions.fading.steady
    fading_db = fading_curve_db(conditions, seed, clip.seconds)
    return AudioFigures(
        seconds=clip.seconds,
        snr_db=received.snr_db,
        processing_gain_db=received.emission.level_db,
        pep_over_speech_db=received.emission.peak_to_speech_db,
        mean_db=decibels(float(np.mean(samples**2))),
        peak_db=2 * decibels(float(np.max(np.abs(samples)))),
        level_quantiles_db=(float(low_db), float(middle_db), float(high_db)),
        fading_range_db=None if steady else (float(np.min(fading_db)), float(np.max(fading_db))),
        weak_share=0.0 if steady else float(np.mean(fading_db < WEAK_FADING_DB)),
        neighbours=tuple(
            _neighbour_figures(neighbour, emission, conditions.receiver)
            for neighbour, emission in zip(conditions.neighbours, received.neighbours, strict=True)
        ),
    )


def _neighbour_figures(
    neighbour: Neighbour, emission: Emission, receiver: Receiver
) -> NeighbourFigures:
    level = speech_level(emission.samples, emission.rate_hz, silence_follows=True)
    tuned = tune(emission, neighbour.offset_hz, inverted=neighbour.inverted)
    audio = apply_filter(receiver_filter(receiver), tuned).astype(np.float64)
    # Both levels are mean powers during the time in which the neighbour speaks.
    active_samples = level.activity * len(audio)
    passed_db = decibels(float(np.sum(audio**2)) / active_samples + SILENT_POWER)
    return NeighbourFigures(
        offset_hz=neighbour.offset_hz,
        requested_db=neighbour.snr_db,
        measured_db=neighbour.snr_db + level.active_db,
        passband_db=neighbour.snr_db + passed_db,
    )


def block_levels_db(clip: Clip) -> NDArray[np.float64]:
    """Return the level of each complete block of LEVEL_BLOCK_S, dB relative to full scale."""
    size = round(LEVEL_BLOCK_S * clip.rate_hz)
    blocks = clip.samples[: len(clip.samples) // size * size].reshape(-1, size).astype(np.float64)
    return np.asarray(10 * np.log10(np.mean(blocks**2, axis=1) + 1e-12), np.float64)


def fading_curve_db(conditions: Conditions, seed: int, seconds: float) -> NDArray[np.float64]:
    """Return the gain of an item's path at 1500 Hz of audio, dB, shape (n,) at BASEBAND_RATE_HZ.

    seed: the item's seed, which determines the fading as in the channel.
    """
    carrier = np.ones(round(seconds * BASEBAND_RATE_HZ), np.complex64)
    fading = WattersonFading(conditions.fading, random_stream(seed, "fading"))
    gain = np.concatenate([fading.process(carrier), fading.finish()])
    # The carrier starts at 0 and the second path arrives later: the path has no fade there.
    second_path = round(conditions.fading.delay_ms / 1000 * BASEBAND_RATE_HZ) + EDGE_SAMPLES
    gain[:second_path] = gain[second_path : second_path + 1]
    return np.asarray(20 * np.log10(np.maximum(np.abs(gain), 1e-4)), np.float64)
