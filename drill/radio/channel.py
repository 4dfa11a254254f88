"""The whole channel, from the far operator's voice to the trainee's headphones.

Order of the stages: each transmitter, its tuning and its fading; the sum of all stations, noise and
interference; the receiver's filter, AGC and limiter, which act on the sum.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drill.core.conditions import Conditions, Transmitter
from drill.core.models import Clip, Samples, WordTime
from drill.core.random_streams import random_stream
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ
from drill.radio.fading import WattersonFading
from drill.radio.filters import BATCH_BLOCKS, FFT_HOP_S, ComplexArray, noise_bandwidth_hz
from drill.radio.interference import InterferenceSource, interference_sources
from drill.radio.levels import REFERENCE_BANDWIDTH_HZ, decibels, noise_density
from drill.radio.neighbours import RepeatingStation, tune
from drill.radio.noise import BandNoise
from drill.radio.receiver import (
    AGC_TARGET_DB,
    limit_peaks,
    receiver_agc,
    receiver_filter,
    receiver_passband,
)
from drill.radio.transmitter import Emission, transmit, transmit_neighbour

MEAN_OUTPUT_DB = -22.0
"""Mean level of voice and noise together without AGC, close to where the AGC keeps it."""
CREST_FACTOR_DB = AGC_TARGET_DB - MEAN_OUTPUT_DB
"""Peaks of noise or speech above their mean level; common practice, no source."""
EDGE_RAMP_S = 0.02
LEAD_IN_S = 0.6
LEAD_OUT_S = 0.5
CHUNK_SAMPLES = round(BATCH_BLOCKS * FFT_HOP_S * BASEBAND_RATE_HZ)
"""Number of baseband samples processed together: few enough to stay in the processor's cache."""


@dataclass(frozen=True, kw_only=True, eq=False)
class ReceivedAudio:
    """The audio that the trainee hears, with the signals and the SNR that produced it.

    emission: transmission of the wanted station. snr_db: delivered SNR (requested SNR plus the gain
    of the station's speech processing); None without noise. neighbours: transmission of each
    neighbour at an active speech level of 0 dB, before _neighbour_stages sets its level.
    """

    clip: Clip
    emission: Emission
    snr_db: float | None
    neighbours: tuple[Emission, ...] = ()


class Channel:
    """The channel of the wanted station, for its baseband signal in chunks of any size.

    neighbours: one emission for each neighbour in the conditions. linear: leave out AGC, limiter
    and output gain, so that the linear part can be measured; the voice then has a level of 0 dB.

    Raises: ValueError if the numbers of neighbours and emissions differ.
    """

    def __init__(
        self,
        conditions: Conditions,
        seed: int,
        neighbours: Sequence[Emission] = (),
        *,
        linear: bool = False,
    ) -> None:
        """Start all stages; each has its own random stream."""
        density = noise_density(conditions.snr_db or 0.0, active_db=0.0)
        receiver = conditions.receiver
        self._fading = WattersonFading(conditions.fading, random_stream(seed, "fading"))
        self._neighbours = _neighbour_stages(conditions, seed, neighbours, density)
        mean_power = 1.0
        self._sources: list[InterferenceSource] = []
        noise_db = 0.0
        if conditions.snr_db is not None:
            self._sources = [
                BandNoise(density, conditions.noise.vd_db, random_stream(seed, "noise")),
                *interference_sources(
                    conditions.noise, density, random_stream(seed, "interference")
                ),
            ]
            noise_power = density * noise_bandwidth_hz(receiver_passband(receiver))
            mean_power += noise_power
            noise_db = decibels(noise_power)
        self._filter = receiver_filter(receiver)
        self._linear = linear
        self._gain = np.float32(10 ** ((MEAN_OUTPUT_DB - decibels(mean_power)) / 20))
        self._agc = (
            None
            if receiver.agc == "off"
            else receiver_agc(receiver.agc, noise_db + CREST_FACTOR_DB)
        )

    def process(self, signal: ComplexArray) -> Samples:
        """Return the audio that is ready after the next chunk of the wanted station's signal."""
        received = self._fading.process(signal)
        for station, fading in self._neighbours:
            received = received + fading.process(station.take(len(signal)))
        return self._level_audio(self._filter.process(self._add_noise(received)))

    def finish(self) -> Samples:
        """Return the remaining audio; the whole audio is as long as the signal."""
        received = self._fading.finish()
        for _, fading in self._neighbours:
            received = received + fading.finish()
        audio = self._level_audio(
            np.concatenate([self._filter.process(self._add_noise(received)), self._filter.finish()])
        )
        if self._agc is not None and not self._linear:
            audio = np.concatenate([audio, limit_peaks(self._agc.finish())])
        return np.asarray(audio, np.float32)

    def _add_noise(self, received: ComplexArray) -> ComplexArray:
        for source in self._sources:
            total = source.take(len(received))
            total += received
            received = total
        return received

    def _level_audio(self, audio: Samples) -> Samples:
        """Apply the AGC, or the constant gain without one, and the limiter."""
        if not self._linear:
            audio = audio * self._gain if self._agc is None else self._agc.process(audio)
            audio = limit_peaks(audio)
        return np.asarray(audio, np.float32)


def _neighbour_stages(
    conditions: Conditions, seed: int, neighbours: Sequence[Emission], density: float
) -> list[tuple[RepeatingStation, WattersonFading]]:
    """Return each neighbour's transmissions at the level of its SNR, and the fading of its path."""
    floor_db = decibels(density * REFERENCE_BANDWIDTH_HZ)
    stages = []
    pairs = zip(conditions.neighbours, neighbours, strict=True)
    for number, (neighbour, emission) in enumerate(pairs):
        over = tune(
            emission,
            neighbour.offset_hz,
            inverted=neighbour.inverted,
            level_db=floor_db + neighbour.snr_db,
        )
        fading = conditions.fading if neighbour.fading is None else neighbour.fading
        stages.append(
            (
                RepeatingStation(over, random_stream(seed, f"neighbour {number}")),
                WattersonFading(fading, random_stream(seed, f"fading of neighbour {number}")),
            )
        )
    return stages


def simulate(
    voice: Clip, conditions: Conditions, seed: int, neighbours: Sequence[Clip] = ()
) -> ReceivedAudio:
    """Return the audio that the trainee hears of a voice under these conditions.

    The audio starts LEAD_IN_S before the voice and ends LEAD_OUT_S after it, with ramps of
    EDGE_RAMP_S at both ends. seed: determines everything random. neighbours: one voice for each
    neighbour in the conditions.

    Raises: ValueError if a voice is silent, or the number of neighbours differs.
    """
    emission = transmit(voice, conditions.transmitter)
    signal = tune(emission, conditions.transmitter.off_frequency_hz)
    others = neighbour_emissions(conditions, neighbours)
    channel = Channel(conditions, seed, others)
    samples = receive_over(channel, signal)
    apply_edge_ramps(samples)
    words = tuple(
        WordTime(say=word.say, start_s=word.start_s + LEAD_IN_S, end_s=word.end_s + LEAD_IN_S)
        for word in voice.words
    )
    return ReceivedAudio(
        clip=Clip(samples=samples, rate_hz=AUDIO_RATE_HZ, words=words),
        emission=emission,
        snr_db=None if conditions.snr_db is None else conditions.snr_db + emission.level_db,
        neighbours=others,
    )


def neighbour_emissions(conditions: Conditions, neighbours: Sequence[Clip]) -> tuple[Emission, ...]:
    """Return the transmissions of the neighbours.

    Raises: ValueError if the number of voices is not that of the neighbours in the conditions.
    """
    return tuple(
        transmit_neighbour(
            clip,
            Transmitter(processing=neighbour.processing, overdrive_db=neighbour.overdrive_db),
            neighbour.offset_hz,
        )
        for neighbour, clip in zip(conditions.neighbours, neighbours, strict=True)
    )


def receive_over(channel: Channel, signal: ComplexArray) -> Samples:
    """Return a whole over through a new channel, with LEAD_IN_S before and LEAD_OUT_S after it."""
    lead_in, lead_out = (
        np.zeros(round(seconds * BASEBAND_RATE_HZ), np.complex64)
        for seconds in (LEAD_IN_S, LEAD_OUT_S)
    )
    padded = np.concatenate([lead_in, signal, lead_out])
    parts = [
        channel.process(padded[start : start + CHUNK_SAMPLES])
        for start in range(0, len(padded), CHUNK_SAMPLES)
    ]
    return np.concatenate([*parts, channel.finish()])


def apply_edge_ramps(audio: Samples) -> None:
    """Apply raised-cosine ramps of EDGE_RAMP_S to both ends of the audio, in place."""
    length = min(round(EDGE_RAMP_S * AUDIO_RATE_HZ), len(audio) // 2)
    rise = (0.5 - 0.5 * np.cos(np.pi * np.arange(length) / max(length, 1))).astype(np.float32)
    audio[:length] *= rise
    audio[len(audio) - length :] *= rise[::-1]
