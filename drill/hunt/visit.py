"""A stop of the scripted hunter at one station, from tuning in to logging or leaving."""

from dataclasses import dataclass

from drill.contact.acts import LEAVE, LOG, NOTE
from drill.contact.air import OnAir, samples
from drill.contact.model_ears import ModelEars
from drill.contact.overs import FAR, TRAINEE
from drill.contact.scripted_operator import Manners, ScriptedOperator
from drill.hunt.acts import HuntAct
from drill.hunt.clock import AHEAD
from drill.hunt.held_frequency import HeldFrequency
from drill.hunt.live import LiveHunt
from drill.radio import AUDIO_RATE_HZ


@dataclass(frozen=True, kw_only=True, slots=True)
class Patience:
    """When a hunter leaves a station.

    wait_s: longest time without a chance to call; twice that after its first call. longest_s:
    longest time in any case. max_calls: number of unanswered calls. avoided_callers: leave when so
    many others were heard calling, None for any number.
    """

    wait_s: float
    longest_s: float
    max_calls: int
    avoided_callers: int | None = None


class Visit:
    """A stop at one station: the rig of the scripted operator.

    is_logged: the contact was logged. operator: the operator, with its calls and replies.
    """

    def __init__(self, live: LiveHunt, channel: HeldFrequency, patience: Patience) -> None:
        """Begin now, with the dial on the station."""
        self._live, self._channel, self._patience = live, channel, patience
        values, station = live.setup.values, channel.holder.station
        self._arrived = live.now
        self._heard: set[int] = set()
        self._is_over = self.is_logged = False
        delay_s = (values.hunter.reaction_low_s, values.hunter.reaction_high_s)
        self._ears = ModelEars(
            values.contact.ears,
            0.0,
            lambda speaker, number: station.stream(f"own ears {speaker} {number}"),
        )
        self.operator = ScriptedOperator(
            self,
            own_call=live.setup.own_call,
            values=values.contact,
            ears=self._ears,
            seed=station.seed,
            manners=Manners(
                max_calls=patience.max_calls,
                insists_on_call=True,
                call_delay_s=delay_s,
                answer_delay_s=delay_s,
            ),
        )

    def run(self, *, until_answered: bool = False) -> None:
        """Listen and act until the station is logged or left, or the hunt ends.

        until_answered: stop as soon as the station answers.
        """
        live, operator = self._live, self.operator
        while not (live.ended or self._is_over):
            if until_answered and operator.first_reply is not None:
                return
            live.advance(max(live.now + 1, self._next_at()))
            self._channel.catch_up(live.story_now)
            self._listen()
            if not self._is_over:
                operator.tick()
            if not self._is_over and self._gives_up():
                self.leave()

    def _next_at(self) -> int:
        """Return the ear time at which something may happen next."""
        live = self._live
        times = [o.end for o in self._far_overs() if o.end > live.now]
        due = (self.operator.next_at, self._deadline())
        times += [at for at in due if at is not None and at > live.now]
        following = self._channel.frequency.next_at
        if following is not None:
            times.append(following - AHEAD)
        return min(times, default=live.now + AUDIO_RATE_HZ)

    def _far_overs(self) -> list[OnAir]:
        recent = self._channel.trace[-60:]
        return [o for o in recent if o.speaker == FAR and o.end > self._arrived]

    def _listen(self) -> None:
        """Hear the station's overs that have ended since the last call."""
        live, frequency = self._live, self._channel.frequency
        for over in self._far_overs():
            if over.end > live.now or over.number in self._heard or self._is_over:
                continue
            self._heard.add(over.number)
            if live.is_sending(over.end):
                continue
            own_ends = [end for _, end in live.sending[-2:] if end <= over.end]
            others = frequency.recent(without=TRAINEE)
            start = max([self._arrived, *own_ends])
            reception = frequency.air.receive("near", others, start, live.now, told=[over])
            self.operator.hear(over, reception)

    # --- giving up

    def _deadline(self) -> int:
        """Return the time at which the hunter leaves, unless a contact is going on."""
        return self._arrived + samples(self._patience.wait_s) * (2 if self.operator.calls else 1)

    def _gives_up(self) -> bool:
        live, operator = self._live, self.operator
        if operator.far_call.is_whole and live.pad.has(operator.far_call.text):
            return True
        if live.now > self._arrived + samples(self._patience.longest_s):
            return True
        if operator.state == "wait" and live.now >= self._deadline():
            return True
        avoided = self._patience.avoided_callers
        if avoided is None or operator.calls or operator.state != "wait":
            return False
        return len(self._callers_heard()) >= avoided

    def _callers_heard(self) -> set[str]:
        """Return the names of other stations that the hunter has heard here."""
        heard = set()
        station = self._channel.holder.station
        for over in self._channel.trace[-60:]:
            level_db = over.participant.near_db
            if over.speaker in (FAR, TRAINEE) or level_db is None or over.end < self._arrived:
                continue
            draw = station.stream(f"own notice {over.speaker}").random()
            if over.start < self._live.now and self._ears.notices(level_db, draw):
                heard.add(over.speaker)
        return heard

    # --- the rig

    @property
    def now(self) -> int:
        """Present ear time."""
        return self._live.now

    @property
    def far_is_sending(self) -> bool:
        """True while the station is heard transmitting."""
        return any(o.start <= self.now < o.end for o in self._far_overs())

    @property
    def own_end(self) -> int | None:
        """End of the hunter's last over, None before the first."""
        return self._live.sending[-1][1] if self._live.sending else None

    def say(self, kind: str) -> None:
        """Send an over."""
        self._live.act(HuntAct(at=self.now, kind=kind))

    def note(self, text: str) -> None:
        """Note a line."""
        self._live.act(HuntAct(at=self.now, kind=NOTE, text=text))

    def log(self) -> None:
        """Log the noted call and exchange."""
        self._live.act(HuntAct(at=self.now, kind=LOG))
        self._is_over = self.is_logged = True

    def leave(self) -> None:
        """Give up the station."""
        self._live.act(HuntAct(at=self.now, kind=LEAVE))
        self._is_over = True
