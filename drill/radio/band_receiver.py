"""A receiver that is tuned over a band of stations, as a stream in chunks.

The stations near the dial are brought to baseband and added. Noise does not depend on the dial. It
passes through a separate receiver filter and is added after the filter, which is equivalent to
adding it before. AGC and limiter act on the sum. Blocks of 64 ms delay the sound by 48 to 80 ms.
"""

from dataclasses import replace

import numpy as np

from drill.core.conditions import Noise, Receiver
from drill.core.models import Samples
from drill.core.random_streams import random_stream
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ, CENTRE_HZ, SPLATTER_RATE_HZ
from drill.radio.band_station import BandStation
from drill.radio.channel import CREST_FACTOR_DB, MEAN_OUTPUT_DB
from drill.radio.filters import (
    BandFilter,
    BlockGrid,
    ComplexArray,
    SignalArray,
    noise_bandwidth_hz,
)
from drill.radio.interference import InterferenceSource, interference_sources
from drill.radio.levels import decibels, noise_density
from drill.radio.noise import BandNoise
from drill.radio.oscillator import LocalOscillator
from drill.radio.receiver import limit_peaks, receiver_agc, receiver_passband

REACH_HZ = 6500.0
"""Stations farther from the dial are left out, because their splatter, which is computed at
SPLATTER_RATE_HZ, would appear at a wrong frequency."""
SHORT_BLOCKS = BlockGrid(block_s=0.064, hop_s=0.032)
NOISE_STEP = SPLATTER_RATE_HZ // BASEBAND_RATE_HZ
SKIP_SAMPLES = 1 << 16
"""Number of noise samples that are drawn at once when reception starts late."""
METER_DECAY_DB_PER_S = 20.0
"""Rate at which the needle falls; it rises at once. Common practice, no source."""
USUAL_RECEIVER = Receiver()
GAUSSIAN_NOISE = Noise()


class BandReceiver:
    """The receiver of a hunter. Times are samples at AUDIO_RATE_HZ since the start of the band.

    dial_hz: frequency above the lower edge of the band; a carrier there gives an audio frequency of
    0 Hz. seed: determines the noise. noise: its kind, None for no noise; a whistle is left out,
    because it belongs to one frequency of the band. linear: leave out AGC, limiter and output gain;
    then a voice with an SNR of 0 dB has a level of 0 dB.

    start: time at which reception starts, a multiple of 512. The filters and the AGC start empty;
    after their settling time the sound is the same as with an earlier start.

    now: time up to which the signals have been read. stations: the stations on the band. level_db:
    reading of the level meter, which is the peak power in the passband over the mean power of the
    noise, in dB.
    """

    def __init__(
        self,
        *,
        dial_hz: float,
        seed: int,
        receiver: Receiver = USUAL_RECEIVER,
        noise: Noise | None = GAUSSIAN_NOISE,
        linear: bool = False,
        start: int = 0,
    ) -> None:
        """Start reception."""
        self.now = start
        self.level_db = 0.0
        self.stations: list[BandStation] = []
        self.oscillator = LocalOscillator(dial_hz, SPLATTER_RATE_HZ)
        self._linear = linear
        density = noise_density(0.0, active_db=0.0)
        passband = receiver_passband(receiver)
        noise_db = decibels(density * noise_bandwidth_hz(passband))
        self._sources: list[InterferenceSource] = []
        if noise is not None:
            self._sources = [
                BandNoise(density, noise.vd_db, random_stream(seed, "noise")),
                *interference_sources(
                    replace(noise, whistle=None), density, random_stream(seed, "interference")
                ),
            ]
        self._skip_noise(start // NOISE_STEP)
        self._noise_db = noise_db
        self._signal_filter, self._noise_filter = (
            BandFilter(
                passband,
                rate_in=rate_hz,
                rate_out=AUDIO_RATE_HZ,
                centre_in=CENTRE_HZ,
                grid=SHORT_BLOCKS,
            )
            for rate_hz in (SPLATTER_RATE_HZ, BASEBAND_RATE_HZ)
        )
        self._gain = np.float32(10 ** ((MEAN_OUTPUT_DB - noise_db) / 20))
        self._agc = (
            None
            if receiver.agc == "off"
            else receiver_agc(receiver.agc, noise_db + CREST_FACTOR_DB)
        )

    def turn(self, dial_hz: float) -> None:
        """Turn the dial now; the frequency glides within 32 ms, after any glide in progress."""
        self.oscillator.turn(self.now, dial_hz)

    def receive(self, count: int) -> Samples:
        """Advance time and return the sound that is ready, shape (n,).

        count: samples, a multiple of NOISE_STEP. Raises: ValueError if it is not.
        """
        if count % NOISE_STEP:
            raise ValueError(f"{count} samples are not a multiple of {NOISE_STEP}")
        audio = self._signal_filter.process(self._signals(count))
        audio = audio + self._noise_filter.process(self._noise(count // NOISE_STEP))
        self.now += count
        self.oscillator.forget_before(self.now)
        self._read_meter(audio)
        if self._linear:
            return np.asarray(audio, np.float32)
        audio = audio * self._gain if self._agc is None else self._agc.process(audio)
        return np.asarray(limit_peaks(audio), np.float32)

    def _skip_noise(self, count: int) -> None:
        """Draw and drop the noise before the start, because the noise is a function of time."""
        for first in range(0, count, SKIP_SAMPLES):
            self._noise(min(SKIP_SAMPLES, count - first))

    def _read_meter(self, audio: SignalArray) -> None:
        """Follow the level of the latest audio before the AGC."""
        if len(audio):
            power_db = decibels(max(float(np.mean(np.square(audio))), 1e-12))
            falling_db = self.level_db - METER_DECAY_DB_PER_S * len(audio) / AUDIO_RATE_HZ
            self.level_db = max(power_db - self._noise_db, falling_db, 0.0)

    def _signals(self, count: int) -> ComplexArray:
        """Return the sum of the stations in reach, as complex baseband at SPLATTER_RATE_HZ."""
        total = np.zeros(count, np.complex64)
        for station in self.stations:
            carrier_hz = station.carrier_hz
            if self.oscillator.nearest_offset_hz(carrier_hz, self.now, count) > REACH_HZ:
                continue
            signal = station.take(self.now, count)
            if signal is not None:
                total += signal * self.oscillator.bring_down(carrier_hz, self.now, count)
        return total

    def _noise(self, count: int) -> ComplexArray:
        """Return noise and interference at BASEBAND_RATE_HZ."""
        total = np.zeros(count, np.complex64)
        for source in self._sources:
            total += source.take(count)
        return total
