"""One station of a band with its callers, simulated only when the trainee could hear it.

Stations do not influence each other, so a station out of hearing need not be simulated at once.
`catch_up` simulates it up to any later time, with the same result as if it had always been
simulated.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cached_property, partial

import numpy as np

from drill.contact.air import OnAir, Participant, samples
from drill.contact.far_states import LogLine
from drill.contact.frequency import Frequency, Trainee
from drill.contact.hearing import Ears
from drill.contact.model_air import ModelAir
from drill.contact.overs import FAR, TRAINEE, Over, Speaker
from drill.contact.rendered_air import TAIL_S
from drill.core.conditions import Transmitter
from drill.core.models import Clip
from drill.hunt.band import Holder
from drill.hunt.clock import AHEAD
from drill.hunt.ears import HuntEars, model_ears
from drill.hunt.hunt_air import HuntAir, is_audible
from drill.hunt.setup import HuntSetup
from drill.hunt.speech import SpeechSource
from drill.radio import AUDIO_RATE_HZ
from drill.radio.band_station import LevelOverTime

KEPT_S = 120.0
"""Overs that ended longer ago are dropped from the trace, unless the trainee could hear them."""
LONGEST_CONTACT_S = 180.0
"""Time without an answer from the trainee after which a station has certainly given up."""
FORGOTTEN_TOGETHER = 20
"""Smallest number of overs that are dropped from the trace at a time."""
LEAST_KEPT = 60
"""Number of overs that are always kept while the station is there, as many as Frequency.recent
reads."""


class HeldFrequency:
    """A holder's frequency. Times are samples since the start of the hunt.

    could_reach: whether the receiver could reach the carrier at an ear time. was_on_dial: whether
    the dial was on the station during an over. machine_ears: of the far operator, for overs by
    microphone.
    """

    def __init__(
        self,
        holder: Holder,
        setup: HuntSetup,
        *,
        speech: SpeechSource | None,
        could_reach: Callable[[Holder, int], bool],
        was_on_dial: Callable[[Holder, OnAir], bool],
        machine_ears: Callable[[Holder], Ears | None] | None = None,
    ) -> None:
        """Prepare; nothing is simulated yet."""
        self.holder, self._setup = holder, setup
        self._called_at: int | None = None
        self._was_on_dial, self._machine_ears = was_on_dial, machine_ears
        self._settled = 0
        self._is_deserted = False
        self._values = replace(
            setup.values.contact,
            station=replace(setup.values.contact.station, stays_s=holder.stops_s),
        )
        self._air = HuntAir(
            holder,
            ModelAir(self._values, setup.plan.conditions.fading),
            speech,
            lambda: could_reach(holder, self.frequency.now - AHEAD),
        )

    # --- the simulation

    @cached_property
    def frequency(self) -> Frequency:
        """The simulation, created when it is first needed."""
        setup, station = self._setup, self.holder.station
        return Frequency(
            station=station,
            trainee=Trainee(speaker=setup.own_speaker(0), watts=setup.watts),
            plan=setup.plan,
            exchange=setup.plan.load_exchange(),
            values=self._values,
            air=self._air,
            ears=HuntEars(
                model_ears(setup, self.holder),
                None if self._machine_ears is None else partial(self._machine_ears, self.holder),
            ),
            begins_at=samples(self.holder.starts_s),
            caller_arrivals=list(self.caller_arrivals()),
            offers_sound=False,
        )

    def caller_arrivals(self) -> Iterator[tuple[float, int]]:
        """Yield each caller's arrival, in seconds after the station's start, and its number.

        New callers are a Poisson process whose rate follows the slope of the band.
        """
        holder, world = self.holder, self._setup.values.world
        rng, waiting = holder.station.stream("arrivals"), holder.station.callers
        yield from ((0.0, number) for number in range(1, waiting + 1))
        slope = world.caller_slope_per_db * min(0.0, holder.drift.slope_db_per_s)
        time_s, number = 0.0, waiting
        length_s = min(holder.stops_s, self._setup.minutes * 60 + 60) - holder.starts_s
        rate_per_s = holder.callers_per_hour / 3600
        while True:
            time_s += rng.expovariate(rate_per_s)
            if time_s > length_s:
                return
            # Thinning: keep an arrival with the probability that a caller is still there by then.
            if rng.random() < math.exp(slope * max(0.0, holder.starts_s + time_s)):
                number += 1
                yield time_s, number

    @property
    def starts_at(self) -> int:
        """Time at which the station begins, negative if it is there before the hunt begins."""
        return samples(self.holder.starts_s)

    def catch_up(self, story: int) -> None:
        """Simulate up to a story time; do nothing if it is already later."""
        if self._is_deserted or story < self.starts_at or story <= self.frequency.now:
            return
        self.frequency.advance(story)
        earliest = story - samples(KEPT_S)
        left_at = self.frequency.far.left_at
        self._is_deserted = left_at is not None and left_at < earliest
        self._forget(earliest, least=0 if self._is_deserted else LEAST_KEPT)

    @property
    def was_called(self) -> bool:
        """True after the trainee has transmitted here."""
        return self._called_at is not None

    def settle(self, until: int) -> None:
        """Let a station in contact with the trainee finish, at most until a story time."""
        if self._called_at is not None:
            self.catch_up(min(until, self._called_at + samples(LONGEST_CONTACT_S)))

    def is_on_at(self, story: int) -> bool:
        """Return whether the station is on its frequency at a story time."""
        if story < self.starts_at:
            return False
        if story < samples(self.holder.stops_s):
            return True
        self.catch_up(story)
        left_at = self.frequency.far.left_at
        return left_at is None or story < left_at

    def _forget(self, earliest: int, *, least: int) -> None:
        """Drop the overs that ended before a time and that the trainee could not hear.

        least: number of the latest overs that are always kept.
        """
        trace, first = self.frequency.trace, self._settled
        last = first
        while last < len(trace) - least and trace[last].end < earliest:
            last += 1
        if last - first >= (FORGOTTEN_TOGETHER if least else 1):
            kept = [o for o in trace[first:last] if self._was_on_dial(self.holder, o)]
            self.frequency.trace = [*trace[:first], *kept, *trace[last:]]
            self._settled += len(kept)
            if not self.was_called:
                del self.frequency.far.listenings[:-1]

    @property
    def trace(self) -> list[OnAir]:
        """The overs of the last minutes and those that the trainee could hear, in order."""
        return self.frequency.trace

    @property
    def far_log(self) -> list[LogLine]:
        """The station's log."""
        return self.frequency.far.operator.log

    def speaker_for(self, line: LogLine) -> Speaker:
        """Return the station with the exchange that it sent in the contact of a log line."""
        place = next(i for i, entry in enumerate(self.far_log) if entry is line)
        return self.holder.station.speaker_after(place)

    # --- the trainee

    def send(self, over: Over, speaker: Speaker, loss_db: float) -> OnAir:
        """Start an over of the trainee now, or append it to the present one.

        speaker: the trainee with the present serial number. loss_db: by mistuning.
        """
        frequency = self.frequency
        self._called_at = frequency.now
        frequency.trainee = replace(frequency.trainee, speaker=speaker)
        far_db = self.holder.far_db(self._setup.watts, frequency.now / AUDIO_RATE_HZ) - loss_db
        frequency.trainee_on_air = replace(frequency.trainee_on_air, far_db=far_db)
        frequency.send(over)
        frequency.take_events()
        return next(o for o in reversed(frequency.trace) if o.speaker == TRAINEE)

    def break_off(self) -> None:
        """Break the trainee's over off now."""
        self.frequency.break_off()
        self.frequency.take_events()

    def last_far_over(self, before: int) -> Over | None:
        """Return the holder's last over that began before a time, None if there is none."""
        overs = (o.over for o in reversed(self.trace) if o.speaker == FAR and o.start < before)
        return next(overs, None)

    # --- the sound

    def speech(self, on_air: OnAir) -> tuple[Clip, int] | None:
        """Return the speech of an over, and the time of its first sample; None if unheard.

        An over that began out of reach has the modelled length. Its speech then ends with the over,
        and may begin before it. Raises: NoVoice.
        """
        if on_air.speaker != TRAINEE and not is_audible(on_air.participant):
            return None
        clip = self._air.speech_of(on_air)
        if clip is None:
            return None
        return clip, on_air.end - samples(TAIL_S) - samples(clip.seconds)

    def carrier_hz(self, participant: Participant) -> float:
        """Return a speaker's carrier on the scale of the dial; callers are slightly mistuned."""
        if participant.name in (FAR, TRAINEE):
            return self.holder.carrier_hz
        rng = self.holder.station.stream(f"mistuning {participant.name}")
        sd_hz = self._setup.values.world.caller_mistuning_sd_hz
        return self.holder.carrier_hz + round(rng.gauss(0, sd_hz), 1)

    def transmitter(self, participant: Participant) -> Transmitter:
        """Return the transmitter of a speaker."""
        if participant.name == FAR:
            return self.holder.station.conditions.transmitter
        return Transmitter(processing=participant.processing)

    def level_db(self, participant: Participant) -> LevelOverTime | None:
        """Return a speaker's SNR in 3 kHz at the trainee over time, None if it is not heard.

        The level excludes short fading, as drill.radio.band_station.BandStation expects; the seed
        of the fading is `participant.path_seed`.
        """
        if participant.near_db is None:
            return None
        near_db, drift = participant.near_db, self.holder.drift
        if participant.name == FAR:
            return lambda times_s: near_db + drift.db_over_time(times_s)
        return lambda times_s: np.full_like(times_s, near_db)
