"""A running hunt: a screen advances the ear time, passes on the trainee's acts, and gets events.

The screen owns the clock and may stop it. Nothing here depends on the time of day: the set-up and
the acts determine everything, whatever the steps in which time advances.
"""

from collections.abc import Callable, Sequence

from drill.contact.acts import BREAK_OFF, LEAVE, LOG, NOTE, SAYINGS, VOICE, compose_saying
from drill.contact.air import OnAir, samples
from drill.contact.events import SendingEnds, SendingStarts
from drill.contact.hearing import Ears
from drill.contact.overs import Over, Speaker
from drill.core.models import Clip
from drill.hunt.acts import END, MARK, MEND, TUNE, HuntAct
from drill.hunt.band import Band, Holder, compose_band
from drill.hunt.clock import story_time
from drill.hunt.dial import Dial
from drill.hunt.events import Ended, HuntEvent, Marked, PadChanged, Tuned
from drill.hunt.held_frequency import HeldFrequency
from drill.hunt.pad import Pad
from drill.hunt.setup import HuntSetup
from drill.hunt.speech import SpeechSource
from drill.hunt.trainee_transmitter import TraineeTransmitter
from drill.radio.band_receiver import REACH_HZ

STORY_REACH_HZ = REACH_HZ + 1000.0
"""Overs of stations this close to the dial get speech: a little beyond hearing, so that small turns
of the dial never wait for speech."""
SETTLING_S = 20.0
"""Time that stations in contact with the trainee still get after the end."""
TIME_OVER, ENDED_BY_TRAINEE = "time-over", "by-trainee"


class LiveHunt:
    """A hunt in progress. Times are samples since its start.

    speech: the overs in reach last as long as their speech; None with the accelerated clock.
    machine_ears: returns a station's ears for overs by microphone, None if it does not hear them.
    bands: the composed bands, empty for those of the set-up.

    channels: every station by its number. now: ear time. marks: frequency and label. ended: ""
    while the hunt lasts, then TIME_OVER or ENDED_BY_TRAINEE.
    """

    def __init__(
        self,
        setup: HuntSetup,
        *,
        speech: SpeechSource | None = None,
        machine_ears: Callable[[Holder], Ears | None] | None = None,
        bands: Sequence[Band] = (),
    ) -> None:
        """Begin at ear time 0, with the dial in the middle of the first band."""
        self.setup = setup
        self.now = 0
        self.ended = ""
        self.pad = Pad()
        self.acts: list[HuntAct] = []
        self.marks: list[tuple[float, str]] = []
        self.bands = tuple(bands) or tuple(
            compose_band(setup, index) for index in range(len(setup.bands))
        )
        first = self.bands[0]
        middle_hz = 1000 * round((first.lower_hz + first.upper_hz) / 2000)
        self.dial = Dial(float(middle_hz))
        self.own = TraineeTransmitter(setup, speech)
        self.channels: dict[int, HeldFrequency] = {
            holder.number: HeldFrequency(
                holder,
                setup,
                speech=speech,
                could_reach=self._could_reach,
                was_on_dial=self._was_on_dial,
                machine_ears=machine_ears,
            )
            for band in self.bands
            for holder in band.holders
        }
        self._hearing: list[HeldFrequency] = []
        self._sent_hz = self.dial_hz
        self._announced_end = 0

    # --- state

    @property
    def story_now(self) -> int:
        """Story time: how far the stations have come."""
        return story_time(self.now)

    @property
    def ends_at(self) -> int:
        """Ear time of the end."""
        return samples(self.setup.minutes * 60)

    @property
    def dial_hz(self) -> float:
        """Present frequency of the receiver."""
        return self.dial.hz

    @property
    def dial_moves(self) -> list[tuple[int, float]]:
        """Ear time and frequency of each position of the dial."""
        return self.dial.moves

    def dial_at(self, at: int) -> float:
        """Return the frequency of the receiver at an ear time."""
        return self.dial.at(at)

    def is_sending(self, at: int | None = None) -> bool:
        """Return whether the receiver is muted at an ear time, None for now."""
        return self.own.is_sending(self.now if at is None else at)

    @property
    def sending(self) -> list[tuple[int, int]]:
        """Start and end of the trainee's overs."""
        return self.own.spans

    def own_speaker(self, number: int | None = None) -> Speaker:
        """Return the trainee after a number of logged contacts, by default the present number."""
        return self.setup.own_speaker(len(self.pad.lines) if number is None else number)

    def saying(self, kind: str) -> Over:
        """Return the over that a key would send now; kind: a key of SAYINGS."""
        channel = self.station_at_dial()
        last_far = None if channel is None else channel.last_far_over(self.now)
        return compose_saying(kind, self.own_speaker(), last_far, self.pad.entry)

    # --- stations

    def station_at_dial(self) -> HeldFrequency | None:
        """Return the nearest station that would hear the trainee now, simulated up to now."""
        number = self.holder_at(self.dial_hz, self.now)
        if number is None:
            return None
        channel = self.channels[number]
        channel.catch_up(self.story_now)
        return channel

    def holder_at(self, hz: float, at: int) -> int | None:
        """Return the number of the nearest station that hears a transmission, None without one.

        hz: of the dial. at: story time.
        """
        near = [
            channel
            for channel in self._channels_within(hz, self.setup.values.world.deaf_hz)
            if channel.is_on_at(at)
        ]
        nearest = min(near, key=lambda c: abs(c.holder.carrier_hz - hz), default=None)
        return None if nearest is None else nearest.holder.number

    def channels_in_reach(self, start: int, stop: int) -> list[HeldFrequency]:
        """Return the stations whose overs may be heard between two ear times.

        Each is simulated up to the present story time. Raises: NoVoice.
        """
        hertz = self.dial.positions(start, stop)
        near = {
            c.holder.number: c for hz in hertz for c in self._channels_within(hz, STORY_REACH_HZ)
        }
        reached = [c for c in near.values() if c.starts_at <= self.story_now]
        for channel in reached:
            channel.catch_up(self.story_now)
        return reached

    def _channels_within(self, hz: float, reach_hz: float) -> list[HeldFrequency]:
        return [c for c in self.channels.values() if abs(c.holder.carrier_hz - hz) <= reach_hz]

    def _could_reach(self, holder: Holder, ear: int) -> bool:
        return abs(holder.carrier_hz - self.dial.at(ear)) <= STORY_REACH_HZ

    def _was_on_dial(self, holder: Holder, over: OnAir) -> bool:
        deaf_hz = self.setup.values.world.deaf_hz
        positions = self.dial.positions(over.start, over.end)
        return any(abs(holder.carrier_hz - hz) <= deaf_hz for hz in positions)

    # --- time

    def advance(self, to: int) -> list[HuntEvent]:
        """Advance the ear time to `to`, at most to the end; return the events."""
        if self.ended:
            return []
        events = self._pass_time(min(max(to, self.now), self.ends_at))
        if self.now >= self.ends_at:
            events += self._end(TIME_OVER)
        return events

    def _pass_time(self, to: int) -> list[HuntEvent]:
        self.now = to
        end = self.own.overs[-1].end if self.own.overs else 0
        if self._announced_end < end <= to:
            self._announced_end = end
            return [SendingEnds(at=end)]
        return []

    def _end(self, how: str) -> list[HuntEvent]:
        self.ended = how
        for channel in self.channels.values():
            channel.settle(self.story_now + samples(SETTLING_S))
        return [Ended(at=self.now, how=how)]

    # --- acts

    def act(self, act: HuntAct, clip: Clip | None = None) -> list[HuntEvent]:
        """Advance to the act, perform it, and return what happened.

        clip: the recording from the microphone, for an act of the kind VOICE. Acts after the end
        are ignored. Raises: ValueError for an act in the past; NoVoice.
        """
        if act.at < self.now:
            raise ValueError(f"the act at sample {act.at} is in the past; now is {self.now}")
        events = self.advance(act.at)
        if self.ended:
            return events
        self.acts.append(act)
        return events + self._perform(act, clip)

    def _perform(self, act: HuntAct, clip: Clip | None) -> list[HuntEvent]:
        if act.kind in SAYINGS:
            return self._send(self.saying(act.kind))
        if act.kind == VOICE:
            return self._send(Over(kind=VOICE, words=(), clip=clip, said=act.text))
        performers: dict[str, Callable[[HuntAct], list[HuntEvent]]] = {
            BREAK_OFF: self._break_off,
            TUNE: self._tune,
            NOTE: self._note,
            LOG: self._log,
            MEND: self._mend,
            MARK: self._mark,
            LEAVE: self._give_up,
            END: lambda _: self._end(ENDED_BY_TRAINEE),
        }
        return performers[act.kind](act)

    def _send(self, over: Over) -> list[HuntEvent]:
        story, speaker = self.story_now, self.own_speaker()
        # An over that is extended stays on the frequency where it began.
        if not self.own.is_sending(story):
            self._sent_hz = self.dial_hz
            near = self._channels_within(self._sent_hz, self.setup.values.world.deaf_hz)
            self._hearing = [channel for channel in near if channel.is_on_at(story)]
        for channel in self._hearing:
            channel.catch_up(story)
            channel.send(over, speaker, self._loss_db(channel.holder.carrier_hz))
        on_air = self.own.send(over, story)
        return [SendingStarts(at=on_air.start, until=on_air.end, text=on_air.over.text)]

    def _loss_db(self, carrier_hz: float) -> float:
        """Return the loss by mistuning at a station's receiver."""
        world, off_hz = self.setup.values.world, abs(carrier_hz - self._sent_hz)
        return max(0.0, off_hz - world.near_hz) / world.hz_per_db

    def _break_off(self, act: HuntAct) -> list[HuntEvent]:
        story = self.story_now
        if not self.own.is_sending(story):
            return []
        for channel in self._hearing:
            channel.catch_up(story)
            channel.break_off()
        self.own.break_off(story)
        last = self.own.overs[-1]
        return [SendingStarts(at=last.start, until=last.end, text=last.over.text)]

    def _tune(self, act: HuntAct) -> list[HuntEvent]:
        assert act.hz is not None
        self.dial.turn(act.at, act.hz)
        return [Tuned(at=act.at, hz=act.hz)]

    def _note(self, act: HuntAct) -> list[HuntEvent]:
        self.pad.note(act.text)
        return [PadChanged(at=act.at)]

    def _log(self, act: HuntAct) -> list[HuntEvent]:
        since = story_time(self.pad.lines[-1].at) if self.pad.lines else 0
        given = self.own.exchange_sent(self.own_speaker(), since=since)
        holder = self.partner
        line = self.pad.log(at=act.at, hz=self.dial_hz, given=given, holder=holder)
        return [] if line is None else [PadChanged(at=act.at, line=line)]

    @property
    def partner(self) -> int | None:
        """Number of the nearest station that heard the trainee's last over, None without one."""
        last = min(
            self._hearing, key=lambda c: abs(c.holder.carrier_hz - self.dial_hz), default=None
        )
        return None if last is None else last.holder.number

    def _mend(self, act: HuntAct) -> list[HuntEvent]:
        line = self.pad.mend(act.line, act.text)
        return [] if line is None else [PadChanged(at=act.at, line=line)]

    def _mark(self, act: HuntAct) -> list[HuntEvent]:
        self.marks.append((self.dial_hz, act.text))
        return [Marked(at=act.at, hz=self.dial_hz, text=act.text)]

    def _give_up(self, act: HuntAct) -> list[HuntEvent]:
        self.pad.clear()
        return [PadChanged(at=act.at)]
