"""One frequency: the event loop that joins the far station, the callers and the trainee.

Everything that happens follows from the station's seed and from the trainee's overs with their
times. Equal times are processed in the order in which they were scheduled.
"""

import heapq
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial

from drill.contact.air import Air, OnAir, Participant, Reception, samples
from drill.contact.callers import Caller, arrivals
from drill.contact.events import LiveEvent, SendingEnds, SendingStarts, SoundStarts, StationLeft
from drill.contact.far_station import FarOperatorOnAir
from drill.contact.hearing import Ears
from drill.contact.overs import FAR, TRAINEE, Over, Speaker, joined_over
from drill.contact.stations import FarStation
from drill.contact.values import ContactValues
from drill.items.plan import Plan
from drill.radio import AUDIO_RATE_HZ
from phonetics.exchanges import Exchange

REMEMBERED_S = 30.0
"""Time after its end for which an over is still considered in reception."""
NOISE_AFTER_S = 0.4
"""Length of noise rendered after the last voice."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Trainee:
    """The trainee's station: call and exchange, power in watts, and voice."""

    speaker: Speaker
    watts: float
    pace: float = 1.0


class Frequency:
    """One far station with its callers and the trainee.

    ears: of the far operator. begins_at: time in samples at which the simulation begins.
    caller_arrivals: the callers' numbers with the times of their arrival in seconds after that,
    None for those that the parameters give. offers_sound: send SoundStarts events.

    `trace` lists all overs in the order of their starts.
    """

    def __init__(
        self,
        *,
        station: FarStation,
        trainee: Trainee,
        plan: Plan,
        exchange: Exchange,
        values: ContactValues,
        air: Air,
        ears: Ears,
        begins_at: int = 0,
        caller_arrivals: Iterable[tuple[float, int]] | None = None,
        offers_sound: bool = True,
    ) -> None:
        """Prepare the frequency; `advance` runs it."""
        self.station, self.values, self.air, self.ears = station, values, air, ears
        self.session_plan, self.exchange = plan, exchange
        self.now = begins_at
        self.trace: list[OnAir] = []
        self.callers: list[Caller] = []
        self._queue: list[tuple[int, int, Callable[[], None]]] = []
        self._scheduled = 0
        self._on_air: list[OnAir] = []
        self._planned: list[OnAir] = []
        self._counts: dict[str, int] = {}
        self._events: list[LiveEvent] = []
        self._in_sound: list[OnAir] = []
        self._sending_generation = 0
        self._offers_sound = offers_sound
        self.trainee = trainee
        self.trainee_on_air = Participant(
            name=TRAINEE,
            path_seed=station.path_seed,
            far_db=station.far_db(trainee.watts),
            pace=trainee.pace,
            operator=trainee.speaker.operator,
        )
        self.far = FarOperatorOnAir(self, exchange)
        self.schedule(1.0, self.far.start)
        for delay_s, number in arrivals(self) if caller_arrivals is None else caller_arrivals:
            self.schedule(delay_s, partial(self._arrive, number))

    def _arrive(self, number: int) -> None:
        self.callers.append(Caller(self, number))

    # --- time

    def schedule(self, delay_s: float, action: Callable[[], None]) -> None:
        """Run an action after a delay in seconds."""
        self._scheduled += 1
        heapq.heappush(self._queue, (self.now + samples(delay_s), self._scheduled, action))

    @property
    def next_at(self) -> int | None:
        """Time of the next scheduled action in samples, None if nothing is scheduled."""
        return self._queue[0][0] if self._queue else None

    def advance(self, to: int) -> list[LiveEvent]:
        """Run everything up to a time in samples, and return the events for the screen."""
        while self._queue and self._queue[0][0] <= to:
            self.now, _, action = heapq.heappop(self._queue)
            action()
        self.now = max(self.now, to)
        return self.take_events()

    def take_events(self) -> list[LiveEvent]:
        """Return the events since the last call."""
        events, self._events = self._events, []
        return events

    # --- on the air

    def plan(self, participant: Participant, over: Over, start: int) -> OnAir:
        """Return an over that will start at a time; `begin` puts it on the air."""
        return self.air.key(participant, over, self._counts.get(participant.name, 0), start)

    def expect(self, on_air: OnAir) -> None:
        """Register an over that is likely to start soon, so that its sound can be rendered."""
        self._planned.append(on_air)

    def forget(self, on_air: OnAir) -> None:
        """Drop a registered over that will not start after all."""
        self._planned = [other for other in self._planned if other is not on_air]

    def begin(self, on_air: OnAir) -> OnAir:
        """Put an over on the air now."""
        self.forget(on_air)
        self._counts[on_air.speaker] = on_air.number + 1
        self._on_air.append(on_air)
        self.trace.append(on_air)
        if on_air.speaker != FAR:
            self.far.voice_started(on_air)
        if on_air.speaker != TRAINEE:
            self.schedule((on_air.end - self.now) / AUDIO_RATE_HZ, partial(self._end, on_air))
            self._offer_sound()
        return on_air

    def _end(self, on_air: OnAir) -> None:
        self._on_air = [other for other in self._on_air if other is not on_air]
        if on_air.speaker == FAR:
            self.far.own_over_ended()
            for caller in list(self.callers):
                caller.hear(on_air)
        else:
            self.far.voice_ended(on_air)
            for caller in self.callers:
                if caller.name == on_air.speaker:
                    caller.over_ended()

    def is_on_air(self, speaker: str) -> bool:
        """Return whether a station transmits now."""
        return any(on_air.speaker == speaker for on_air in self._on_air)

    def is_waiting(self, caller: str) -> bool:
        """Return whether a caller is still waiting."""
        return any(entry.name == caller for entry in self.callers)

    def leave(self, caller: str) -> None:
        """Take a caller off the frequency."""
        self.callers = [entry for entry in self.callers if entry.name != caller]

    def recent(self, *, without: str) -> list[OnAir]:
        """Return the overs of the last REMEMBERED_S and of now, except those of one speaker."""
        earliest = self.now - samples(REMEMBERED_S)
        return [o for o in self.trace[-60:] if o.speaker != without and o.end >= earliest]

    # --- the trainee

    @property
    def is_sending(self) -> bool:
        """True while the trainee transmits and hears nothing."""
        return self.is_on_air(TRAINEE)

    def send(self, over: Over) -> None:
        """Start transmitting as the trainee; if already transmitting, append this to the over."""
        current = next((o for o in self._on_air if o.speaker == TRAINEE), None)
        if current is not None:
            over = joined_over(current.over, over)
            self._replace(current, self.air.key(
                self.trainee_on_air, over, current.number, current.start
            ))  # fmt: skip
            return
        on_air = self.begin(self.plan(self.trainee_on_air, over, self.now))
        self._sending_ends(on_air)
        self._in_sound = []
        self._events.append(SendingStarts(at=self.now, until=on_air.end, text=over.text))

    def break_off(self) -> None:
        """Stop transmitting; do nothing if the trainee does not transmit."""
        current = next((o for o in self._on_air if o.speaker == TRAINEE), None)
        if current is not None:
            self._replace(current, current.broken_off(self.now))

    def _replace(self, old: OnAir, new: OnAir) -> None:
        self._on_air = [new if o is old else o for o in self._on_air]
        self.trace = [new if o is old else o for o in self.trace]
        self.far.voice_replaced(old, new)
        if new.end > self.now:
            text = new.over.text
            self._events.append(SendingStarts(at=self.now, until=new.end, text=text))
        self._sending_ends(new)

    def _sending_ends(self, on_air: OnAir) -> None:
        self._sending_generation += 1
        self.schedule(
            (on_air.end - self.now) / AUDIO_RATE_HZ,
            partial(self._stop_sending, on_air, self._sending_generation),
        )

    def _stop_sending(self, on_air: OnAir, generation: int) -> None:
        if generation != self._sending_generation:
            return
        self._end(on_air)
        self._events.append(SendingEnds(at=self.now))
        self._offer_sound()

    # --- the trainee's ear

    def _offer_sound(self) -> None:
        """Send the screen the sound from now on, unless the current sound already contains it."""
        if not self._offers_sound:
            return
        known = {id(o) for o in self._in_sound}
        if any(id(o) not in known for o in self._audible()):
            self._events += self.present_sound()

    def _audible(self) -> list[OnAir]:
        return [o for o in self._on_air if o.participant.near_db is not None and o.end > self.now]

    def present_sound(self) -> list[SoundStarts]:
        """Return the sound at the trainee's ear from now on; empty if there is none."""
        audible = self._audible()
        if self.is_sending or not audible:
            return []
        until = max(o.end for o in audible)
        for planned in sorted(self._planned, key=lambda o: o.start):
            if planned.participant.near_db is not None and planned.start <= until:
                audible.append(planned)
                until = max(until, planned.end)
        self._in_sound = audible
        until += samples(NOISE_AFTER_S)
        reception = self.hear_near(audible, self.now, until)
        return [SoundStarts(at=self.now, until=until, render=reception.clip)]

    def hear_near(self, overs: Sequence[OnAir], start: int, until: int) -> Reception:
        """Return the trainee's reception of overs between two times in samples."""
        return self.air.receive("near", overs, start, until, told=overs)

    def tell_station_left(self) -> None:
        """Tell the screen that the far station has gone."""
        self._events.append(StationLeft(at=self.now))
