"""Air with sound: voices speak every over, and the channel carries it to both ends.

The path between station and trainee fades in the same way in both directions: its fading is a
function of time since the start of the contact, whoever transmits. Noise differs for every
reception; its seed follows from the station's seed and the time.
"""

import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from drill import voices
from drill.contact.air import OnAir, Participant, Reception, arrived_voices, samples
from drill.contact.overs import FAR, Over
from drill.contact.stations import FarStation
from drill.core.conditions import Conditions, Fading, Receiver, Transmitter
from drill.core.models import Clip
from drill.core.random_streams import random_stream
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ
from drill.radio.channel import CHUNK_SAMPLES, Channel, apply_edge_ramps, neighbour_emissions
from drill.radio.fading import WattersonFading
from drill.radio.filters import ComplexArray
from drill.radio.neighbours import tune
from drill.radio.transmitter import Emission, transmit

LEAD_S = 0.25
"""Time from keying to the voice, because a listener needs some noise before a voice."""
TAIL_S = 0.15
LEVEL_LIMITS_DB = (-30.0, 45.0)
"""Range of SNR that the channel accepts."""
STEP = AUDIO_RATE_HZ // BASEBAND_RATE_HZ


@dataclass(frozen=True, kw_only=True, eq=False)
class _Spoken:
    """Speech of an over as transmitted, and its word times in samples from the voice's start."""

    emission: Emission
    signal: ComplexArray
    times: tuple[tuple[int, int], ...]
    length: int


class RenderedAir:
    """Air of one far station; its conditions and neighbours are those at the trainee's receiver.

    The far end has the same fading and kind of noise, a receiver of the usual width, and no
    neighbours.
    """

    def __init__(self, station: FarStation, *, far_shift_db: float = 0.0) -> None:
        """Prepare; speech is synthesised when an over is keyed.

        far_shift_db: added to the level of every voice in the sound at the far end.
        """
        self._station = station
        self._far_shift_db = far_shift_db
        self._spoken: dict[tuple[str, int, str], _Spoken] = {}
        self._faded_signals: dict[tuple[str, int, str], ComplexArray] = {}

    def key(self, participant: Participant, over: Over, number: int, start: int) -> OnAir:
        """Return an over with the times of its spoken words. See Air. Raises: NoVoice."""
        spoken = self._speech(participant, over, number)
        first = start + samples(LEAD_S)
        return OnAir(
            participant=participant,
            over=over,
            number=number,
            start=start,
            end=first + spoken.length + samples(TAIL_S),
            times=tuple((first + begin, first + finish) for begin, finish in spoken.times),
        )

    def receive(
        self, end: str, on_air: Sequence[OnAir], start: int, stop: int, *, told: Sequence[OnAir]
    ) -> Reception:
        """Return the words that arrive, with their sound. See Air."""
        return Reception(
            start=start,
            end=stop,
            voices=arrived_voices(end, on_air, told, start, self._fade_db),
            clip=partial(self.render, end, tuple(on_air), start, stop),
        )

    def render(
        self, end: str, on_air: Sequence[OnAir], start: int, stop: int, *, linear: bool = False
    ) -> Clip:
        """Return the sound at one end between two times in samples.

        linear: without gain control and limiter; then 0 dB is the level of the strongest voice.
        """
        shift_db = self._far_shift_db if end == "far" else 0.0
        levels = {
            id(over): level + shift_db
            for over in on_air
            if (level := over.participant.level_db(end)) is not None
        }
        reference_db = float(np.clip(max(levels.values(), default=0.0), *LEVEL_LIMITS_DB))
        first, length = start // STEP, max(1, (stop - start) // STEP)
        total = np.zeros(length, np.complex64)
        for over in on_air:
            if id(over) in levels:
                gain = np.float32(10 ** ((levels[id(over)] - reference_db) / 20))
                self._add(total, first, over, gain, tuned=end == "near")
        conditions, neighbours = self._conditions(end, reference_db)
        seed = zlib.crc32(f"{self._station.seed} {end} {start}".encode())
        channel = Channel(conditions, seed, neighbours, linear=linear)
        parts = [
            channel.process(total[at : at + CHUNK_SAMPLES])
            for at in range(0, length, CHUNK_SAMPLES)
        ]
        audio = np.concatenate([*parts, channel.finish()])
        if not linear:
            apply_edge_ramps(audio)
        return Clip(samples=audio, rate_hz=AUDIO_RATE_HZ)

    def render_clean(self, over: OnAir) -> Clip:
        """Return one over through the usual filters, without noise, fading and other voices."""
        clean = Conditions(snr_db=None, receiver=Receiver(agc="off"))
        signal = self._speech(over.participant, over.over, over.number).signal
        channel = Channel(clean, 0)
        return Clip(
            samples=np.concatenate([channel.process(signal), channel.finish()]),
            rate_hz=AUDIO_RATE_HZ,
        )

    def _conditions(self, end: str, reference_db: float) -> tuple[Conditions, tuple[Emission, ...]]:
        """Return the conditions at one end without fading, which is applied before."""
        conditions = self._station.conditions
        steady = replace(conditions, snr_db=reference_db, fading=Fading())
        if end == "far":
            return replace(steady, neighbours=(), receiver=Receiver()), ()
        near = replace(
            steady,
            neighbours=tuple(
                replace(neighbour, fading=neighbour.fading or conditions.fading)
                for neighbour in conditions.neighbours
            ),
        )
        clips = [
            voices.speak(other.message.words, other.operator, self._station.seed + number)
            for number, other in enumerate(self._station.neighbours)
        ]
        return near, neighbour_emissions(near, clips)

    def _add(
        self, total: ComplexArray, first: int, over: OnAir, gain: np.float32, *, tuned: bool
    ) -> None:
        """Add an over to the signal that begins at baseband sample `first`."""
        faded, begin = self._faded(over, tuned=tuned)
        low, high = max(first, begin), min(first + len(total), begin + len(faded))
        if low < high:
            total[low - first : high - first] += gain * faded[low - begin : high - begin]

    def _faded(self, over: OnAir, *, tuned: bool) -> tuple[ComplexArray, int]:
        """Return an over after its fading, and its first baseband sample.

        tuned: with the mistuning of the trainee's receiver.
        """
        begin = (over.start + samples(LEAD_S)) // STEP
        key = (over.speaker, over.number, f"{over.over.text} {begin} {tuned}")
        if key not in self._faded_signals:
            self._faded_signals[key] = self._fade(over, begin, tuned=tuned)
        return self._faded_signals[key][: max(0, over.end // STEP - begin)], begin

    def _fade(self, over: OnAir, begin: int, *, tuned: bool) -> ComplexArray:
        spoken = self._speech(over.participant, over.over, over.number)
        offset_hz = over.participant.off_frequency_hz if tuned else 0.0
        signal = tune(spoken.emission, offset_hz) if offset_hz else spoken.signal
        fading = WattersonFading(
            self._station.conditions.fading,
            random_stream(over.participant.path_seed, "contact fading"),
        )
        # The fading is a function of time: it runs from the start of the contact.
        held_back = begin - len(fading.process(np.zeros(begin, np.complex64)))
        faded = np.concatenate([fading.process(signal), fading.finish()])
        return np.asarray(faded[held_back:], np.complex64)

    def _fade_db(self, over: OnAir, begin: int, finish: int) -> float:
        """Return the gain of the path during a word: faded power over power before fading."""
        spoken = self._speech(over.participant, over.over, over.number)
        faded, first = self._faded(over, tuned=False)
        low, high = begin // STEP - first, finish // STEP - first
        before = np.sum(np.abs(spoken.signal[low:high]) ** 2)
        after = np.sum(np.abs(faded[low:high]) ** 2)
        return float(10 * np.log10(max(after, 1e-9) / max(before, 1e-9)))

    def _speech(self, participant: Participant, over: Over, number: int) -> _Spoken:
        name = (participant.name, number, f"{over.kind} {over.text}")
        if name not in self._spoken:
            self._spoken[name] = self._synthesise(participant, over, number)
        return self._spoken[name]

    def _synthesise(self, participant: Participant, over: Over, number: int) -> _Spoken:
        clip = over.clip
        if clip is not None and not clip.samples.any():
            return _silent(clip)
        if clip is None:
            assert participant.operator is not None
            seed = speech_seed(self._station.seed, participant.name, number)
            clip = voices.speak(over.words, participant.operator, seed)
        transmitter = Transmitter(processing=participant.processing)
        if participant.name == FAR:
            transmitter = replace(self._station.conditions.transmitter, off_frequency_hz=0.0)
        emission = transmit(clip, transmitter)
        return _Spoken(
            emission=emission,
            signal=tune(emission, 0.0),
            times=tuple((samples(word.start_s), samples(word.end_s)) for word in clip.words),
            length=samples(clip.seconds),
        )


def speech_seed(station_seed: int, speaker: str, number: int) -> int:
    """Return the seed with which an over is spoken; number: how many the speaker sent before."""
    return zlib.crc32(f"{station_seed} {speaker} {number}".encode())


def _silent(clip: Clip) -> _Spoken:
    """Return an over without a voice, because its sound was not stored."""
    signal = np.zeros(round(clip.seconds * BASEBAND_RATE_HZ), np.complex64)
    emission = Emission(samples=signal, rate_hz=BASEBAND_RATE_HZ, level_db=0.0)
    return _Spoken(emission=emission, signal=signal, times=(), length=samples(clip.seconds))
