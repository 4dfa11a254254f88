"""What the trainee's receiver plays: the stations in reach of the dial, noise, and silence while
the trainee transmits.

This module is independent of the simulation. It gets transmissions with their times, far enough
ahead, and delivers blocks of samples in which sample n was on the air at time n of the hunt.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drill.core.conditions import Conditions, Fading
from drill.core.models import Samples
from drill.radio.band_receiver import BandReceiver
from drill.radio.band_station import BandStation, LevelOverTime
from drill.radio.fading import WattersonFading
from drill.radio.filters import ComplexArray

BLOCK = 512
"""Samples per block, 32 ms: the hop of the receiver's filters."""
RAMP_SAMPLES = 80
"""The receiver fades out and in within 5 ms, so that a transmission begins and ends without a
click."""
LOOKAHEAD = BLOCK + WattersonFading.after
"""Number of samples after the present time for which every transmission has to be known."""

Span = tuple[int, int]
"""Start and end in samples."""


@dataclass(frozen=True, kw_only=True, eq=False)
class SignalOnAir:
    """An over that arrives at the trainee's receiver.

    transmitter: unique name of the station. carrier_hz: its carrier, on the scale of the dial.
    path_seed, fading: of its path. level_db: SNR in 3 kHz over time, as in BandStation. start: time
    of the first sample of `signal`, which is complex64 at SPLATTER_RATE_HZ, shape (n,).
    """

    transmitter: str
    carrier_hz: float
    path_seed: int
    fading: Fading
    level_db: LevelOverTime
    start: int
    signal: ComplexArray


class HuntSound:
    """The receiver of a hunt. Times are samples of AUDIO_RATE_HZ since the start of the hunt.

    dial_hz: of the receiver at the start. seed: determines the noise. conditions: their noise and
    receiver are used. start: where to begin, a multiple of BLOCK. linear: without AGC, limiter and
    output gain.
    """

    def __init__(
        self,
        *,
        dial_hz: float,
        seed: int,
        conditions: Conditions,
        start: int = 0,
        linear: bool = False,
        noise: bool = True,
    ) -> None:
        """Start the receiver at `start`."""
        self._receiver = BandReceiver(
            dial_hz=dial_hz,
            seed=seed,
            receiver=conditions.receiver,
            noise=conditions.noise if noise else None,
            linear=linear,
            start=start,
        )
        self._stations: dict[str, BandStation] = {}
        self._silences: tuple[Span, ...] = ()
        self._played = start

    @property
    def now(self) -> int:
        """Time up to which the receiver has listened; a turn of the dial takes effect here."""
        return self._receiver.now

    @property
    def played(self) -> int:
        """Time of the next sample that `receive` returns: `now` less the delay of the filters."""
        return self._played

    @property
    def dial_hz(self) -> float:
        """The frequency to which the dial was last turned."""
        return self._receiver.oscillator.dial_hz

    @property
    def level_db(self) -> float:
        """Reading of the level meter over the noise, in dB. See BandReceiver."""
        return self._receiver.level_db

    @property
    def is_silent(self) -> bool:
        """True while the trainee transmits."""
        return any(start <= self._played < end for start, end in self._silences)

    def turn(self, dial_hz: float) -> None:
        """Turn the dial now."""
        self._receiver.turn(dial_hz)

    def add(self, transmission: SignalOnAir) -> None:
        """Put a transmission on the air. The part before `now` is lost."""
        name = transmission.transmitter
        station = self._stations.get(name)
        if station is None:
            station = BandStation(
                transmission.carrier_hz,
                transmission.fading,
                transmission.path_seed,
                transmission.level_db,
            )
            self._stations[name] = station
        station.send(transmission.start, transmission.signal)

    def silence(self, spans: Sequence[Span]) -> None:
        """Set the times at which the trainee transmits, in place of those set before."""
        self._silences = tuple(spans)

    def receive(self) -> Samples:
        """Receive one more block and return the sound that is ready, shape (n,).

        n is BLOCK, and less for the first blocks, until the filters are full.
        """
        start = self.now
        self._stations = {
            name: station for name, station in self._stations.items() if station.is_busy(start)
        }
        # In a fixed order, so that rounding does not depend on when signals were added.
        self._receiver.stations = [self._stations[name] for name in sorted(self._stations)]
        audio = self._receiver.receive(BLOCK)
        first, self._played = self._played, self._played + len(audio)
        return self._gated(audio, first)

    def _gated(self, audio: Samples, first: int) -> Samples:
        """Return the audio, silent while the trainee transmits, with ramps inside these times."""
        near = [span for span in self._silences if span[0] < self._played and span[1] > first]
        if not near:
            return audio
        at = np.arange(first, self._played)
        gain = np.ones(len(audio))
        for start, end in near:
            before, after = (start - at) / RAMP_SAMPLES + 1, (at - end) / RAMP_SAMPLES + 1
            gain = np.minimum(gain, np.clip(np.maximum(before, after), 0, 1))
        return np.asarray(audio * gain, np.float32)
