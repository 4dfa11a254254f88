"""A trainee for tests that copies everything: it reads the overs of the station on its dial.

It is good enough for strong stations; drill.hunt.hunter has modelled hearing instead.
"""

from collections.abc import Callable
from dataclasses import dataclass

from drill.contact.acts import CALL, CORRECTION, EXCHANGE, LEAVE, LOG, NOTE, PART
from drill.contact.air import OnAir, samples
from drill.contact.callers import addresses
from drill.contact.overs import FAR, without_gaps
from drill.core.conditions import Conditions, Fading
from drill.hunt.acts import END, TUNE, HuntAct
from drill.hunt.events import HuntEvent
from drill.hunt.held_frequency import HeldFrequency
from drill.hunt.live import LiveHunt
from drill.hunt.setup import HuntSetup
from drill.hunt.values import find_band_kind, load_hunt_values
from drill.items.plan import Plan

PLAN = Plan(
    seed=7,
    count=1,
    part="over",
    mix="unassigned",
    conditions=Conditions(fading=Fading(name="mid-moderate", delay_ms=1.0, spread_hz=0.5)),
    voices=("birch", "maple"),
)
STEP = samples(0.25)
REACTION = samples(0.3)

Performer = Callable[[HuntAct], list[HuntEvent]]


def make_setup(*, watts: float = 100.0, minutes: float = 6.0, seed: int = 7) -> HuntSetup:
    """Return a hunt on an open band."""
    return HuntSetup(
        plan=Plan.from_dict({**PLAN.to_dict(), "seed": seed}),
        own_call="E87ABC",
        voice="willow",
        watts=watts,
        minutes=minutes,
        bands=(find_band_kind("open"),),
        weekend=0.25,
        values=load_hunt_values(),
    )


@dataclass
class SimpleHunter:
    """Works stations through `act` and `advance` of a hunt or its session.

    errs: changes the note before it is logged. mends: corrects a wrong call.
    """

    live: LiveHunt
    act: Performer
    advance: Callable[[int], list[HuntEvent]]
    errs: Callable[[str], str] = str
    mends: bool = True

    def strongest(self) -> list[int]:
        """Return the stations that copy the trainee best, of those that are there at the start."""
        there = [c for c in self.live.channels.values() if c.holder.starts_s < 0]
        watts = self.live.setup.watts
        ranked = sorted(
            there,
            key=lambda c: c.holder.far_db(watts, 0) - c.holder.callers_per_hour / 4,
            reverse=True,
        )
        return [channel.holder.number for channel in ranked]

    def do(self, kind: str, text: str = "", hz: float | None = None) -> None:
        """Perform an act now."""
        self.act(HuntAct(at=self.live.now, kind=kind, text=text, hz=hz))

    def end(self) -> None:
        """End the hunt."""
        self.do(END)

    def work(self, number: int, *, patience_s: float = 60.0) -> bool:
        """Tune to a station and work it; return whether a line was logged."""
        channel = self.live.channels[number]
        self.do(TUNE, hz=round(channel.holder.carrier_hz, -1))
        until, lines = self.live.now + samples(patience_s), len(self.live.pad.lines)
        answered: OnAir | None = None
        while self.live.now < until and not self.live.ended:
            self.advance(self.live.now + STEP)
            channel.catch_up(self.live.story_now)
            last = self._last_over(channel)
            if last is None or last is answered or self.live.is_sending():
                continue
            answered = last
            if self._react(channel, last):
                return len(self.live.pad.lines) > lines
        self.do(LEAVE)
        return False

    def _last_over(self, channel: HeldFrequency) -> OnAir | None:
        """Return the station's last over, once it has ended and nobody sends."""
        now = self.live.now
        overs = [over for over in channel.trace if over.start <= now]
        if not overs or any(over.end + REACTION > now for over in overs):
            return None
        far = [over for over in overs if over.speaker == FAR]
        return far[-1] if far else None

    def _react(self, channel: HeldFrequency, over: OnAir) -> bool:
        """Answer an over; return True if the contact is over."""
        kind, call = over.over.kind, self.live.setup.own_call
        named = without_gaps(over.over.call)
        noted = bool(self.live.pad.notes)
        if kind in ("calling", "ending", "dropping") and noted:
            self.do(LOG)
            return True
        if kind in ("calling", "ending", "dropping"):
            self.do(CALL)
        elif kind == "asking" and (not named or addresses(over.over.call, call)):
            self.do(PART)
        elif kind == "giving" and (not named or addresses(over.over.call, call)):
            speaker = channel.holder.station.speaker_after(len(channel.far_log))
            exchange = " ".join(field.text for field in speaker.fields)
            self.do(NOTE, self.errs(f"{channel.holder.call} {exchange}"))
            if named != call and self.mends:
                self.do(CORRECTION)
            self.do(EXCHANGE)
        elif kind == "asking-exchange":
            self.do(PART)
        return False
