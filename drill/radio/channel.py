"""From the far operator's voice to the trainee's ears: the stages in their true order.

The wanted station, its neighbours, the interference and the noise meet before the receiver's
filter; AGC and limiter work on their sum.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Conditions, Transmitter
from drill.core.models import Clip, WordTime
from drill.core.random_streams import stream
from drill.radio import CORE_RATE_HZ, RADIO_RATE_HZ
from drill.radio.fading import Ionosphere
from drill.radio.filters import HOP_S, ROWS, Complex, noise_bandwidth_hz
from drill.radio.interference import Interference, interference
from drill.radio.levels import REFERENCE_BANDWIDTH_HZ, decibels, noise_density
from drill.radio.neighbours import Talker, tuned
from drill.radio.noise import BandNoise
from drill.radio.receiver import TARGET_DB, agc, front_end, limit, passband
from drill.radio.transmitter import Emission, transmit

LOUDNESS_DB = -22.0
"""Mean level of voice and noise together without AGC, about where the AGC keeps it."""
CREST_DB = LOUDNESS_DB - TARGET_DB
"""Mean of noise or speech below its peaks; common practice, no source."""
RAMP_S = 0.02
LEAD_S = 0.6
TAIL_S = 0.5
PIECE = round(ROWS * HOP_S * CORE_RATE_HZ)
"""Samples that go through the path at once, so that they stay in the processor's cache."""

Sound = NDArray[np.float32]


@dataclass(frozen=True, kw_only=True, eq=False)
class Heard:
    """What the trainee hears, and what is known about it.

    emission: what the wanted station transmitted. snr_db: delivered SNR, what was asked for and
    what the station's processing adds; None without noise.
    """

    clip: Clip
    emission: Emission
    snr_db: float | None


class Path:
    """The radio path for the wanted station at CORE_RATE_HZ in pieces of any size.

    neighbours: emissions, one for each neighbour of the conditions. ears: False leaves out AGC and
    limiter, so that the linear part can be measured; the voice is then at 0 dB.

    Raises: ValueError where the numbers of neighbours differ.
    """

    def __init__(
        self,
        conditions: Conditions,
        seed: int,
        neighbours: Sequence[Emission] = (),
        *,
        ears: bool = True,
    ) -> None:
        """Tune the receiver and start everything that is on the frequency."""
        density = noise_density(conditions.snr_db or 0.0, active_db=0.0)
        receiver = conditions.receiver
        self._wanted = Ionosphere(conditions.fading, stream(seed, "fading"))
        floor_db = decibels(density * REFERENCE_BANDWIDTH_HZ)
        self._neighbours = []
        pairs = zip(conditions.neighbours, neighbours, strict=True)
        for number, (neighbour, emission) in enumerate(pairs):
            over = tuned(
                emission,
                neighbour.offset_hz,
                inverted=neighbour.inverted,
                level_db=floor_db + neighbour.snr_db,
            )
            fading = conditions.fading if neighbour.fading is None else neighbour.fading
            self._neighbours.append(
                (
                    Talker(over, stream(seed, f"neighbour {number}")),
                    Ionosphere(fading, stream(seed, f"fading of neighbour {number}")),
                )
            )
        heard_power = 1.0
        self._noise: list[Interference] = []
        noise_db = 0.0
        if conditions.snr_db is not None:
            self._noise = [
                BandNoise(density, conditions.noise.vd_db, stream(seed, "noise")),
                *interference(conditions.noise, density, stream(seed, "interference")),
            ]
            noise_power = density * noise_bandwidth_hz(passband(receiver))
            heard_power += noise_power
            noise_db = decibels(noise_power)
        self._front_end = front_end(receiver)
        self._ears = ears
        self._gain = np.float32(10 ** ((LOUDNESS_DB - decibels(heard_power)) / 20))
        self._agc = None if receiver.agc == "off" else agc(receiver.agc, noise_db - CREST_DB)

    def process(self, signal: Complex) -> Sound:
        """Return the sound that is ready after more of the wanted station's signal."""
        arrived = self._wanted.process(signal)
        for talker, ionosphere in self._neighbours:
            arrived = arrived + ionosphere.process(talker.take(len(signal)))
        return self._listen(self._front_end.process(self._with_noise(arrived)))

    def finish(self) -> Sound:
        """Return the rest; in all as long in time as the signal."""
        arrived = self._wanted.finish()
        for _, ionosphere in self._neighbours:
            arrived = arrived + ionosphere.finish()
        front = self._front_end
        sound = np.concatenate([front.process(self._with_noise(arrived)), front.finish()])
        last = self._listen(sound)
        if self._ears and self._agc is not None:
            last = np.concatenate([last, limit(self._agc.finish())])
        return np.asarray(last, np.float32)

    def _with_noise(self, arrived: Complex) -> Complex:
        for source in self._noise:
            more = source.take(len(arrived))
            more += arrived
            arrived = more
        return arrived

    def _listen(self, sound: Sound) -> Sound:
        """Return what the ears get of the filter's output."""
        if self._ears:
            sound = sound * self._gain if self._agc is None else self._agc.process(sound)
            sound = limit(sound)
        return np.asarray(sound, np.float32)


def travel(
    voice: Clip, conditions: Conditions, seed: int, neighbours: Sequence[Clip] = ()
) -> Heard:
    """Return what the trainee hears of a voice under these conditions.

    neighbours: a voice for each neighbour of the conditions. The sound starts and ends with ramps
    of RAMP_S.

    Raises: ValueError where a voice is silent.
    """
    emission = transmit(voice, conditions.transmitter)
    signal = tuned(emission, conditions.transmitter.off_frequency_hz)
    sound = whole_path(Path(conditions, seed, emissions(conditions, neighbours)), signal)
    ramp(sound)
    words = tuple(
        WordTime(say=w.say, start_s=w.start_s + LEAD_S, end_s=w.end_s + LEAD_S) for w in voice.words
    )
    return Heard(
        clip=Clip(samples=sound, rate_hz=RADIO_RATE_HZ, words=words),
        emission=emission,
        snr_db=None if conditions.snr_db is None else conditions.snr_db + emission.level_db,
    )


def emissions(conditions: Conditions, neighbours: Sequence[Clip]) -> tuple[Emission, ...]:
    """Return what the neighbours transmit. Raises: ValueError where the numbers differ."""
    return tuple(
        transmit(
            clip,
            Transmitter(processing=neighbour.processing, overdrive_db=neighbour.overdrive_db),
        )
        for neighbour, clip in zip(conditions.neighbours, neighbours, strict=True)
    )


def whole_path(path: Path, signal: Complex) -> Sound:
    """Return a whole over, LEAD_S before and TAIL_S after it, through a path."""
    lead, tail = (np.zeros(round(t * CORE_RATE_HZ), np.complex64) for t in (LEAD_S, TAIL_S))
    sent = np.concatenate([lead, signal, tail])
    parts = [path.process(sent[at : at + PIECE]) for at in range(0, len(sent), PIECE)]
    return np.concatenate([*parts, path.finish()])


def ramp(sound: Sound) -> None:
    """Have a sound rise and fall as a raised cosine over RAMP_S at its ends, in place."""
    length = min(round(RAMP_S * RADIO_RATE_HZ), len(sound) // 2)
    rise = (0.5 - 0.5 * np.cos(np.pi * np.arange(length) / max(length, 1))).astype(np.float32)
    sound[:length] *= rise
    sound[len(sound) - length :] *= rise[::-1]
