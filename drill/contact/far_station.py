"""The far operator on the air: turns the operator's decisions into overs, and voices into its
inputs."""

from random import Random

from drill.contact.air import OnAir, samples
from drill.contact.far_operator import FarOperator
from drill.contact.far_states import Decision, State
from drill.contact.hearing import HeardOver
from drill.contact.overs import FAR, Over, exchange_label, without_gaps
from drill.contact.scene import Scene
from drill.radio import AUDIO_RATE_HZ
from phonetics.exchanges import Exchange

LONGEST_BUSY_S = 12.0
"""Longest wait for noticed voices if they follow each other without a gap."""


class FarOperatorOnAir:
    """Timers and speech of the far operator on one frequency.

    `listenings` lists the results of its ears, each with the sample time. left_at: when it left the
    frequency, None before.
    """

    def __init__(self, frequency: Scene, exchange: Exchange) -> None:
        """Prepare the operator; `start` begins its first over."""
        values = frequency.values
        self._frequency = frequency
        self._values = values.far
        self.operator = FarOperator(values.far, exchange, frequency.ears.doubt_below)
        self.listenings: list[tuple[int, tuple[HeardOver, ...]]] = []
        self._participant = frequency.station.participant()
        self._talk = frequency.station.stream("far talk")
        self._timer = 0
        self._window_start = 0
        self._noticed: list[OnAir] = []
        self.left_at: int | None = None

    def start(self) -> None:
        """Begin with a general call, or with the end of another contact."""
        busy = self._frequency.station.is_busy
        self._transmit(self.operator.start(State.ENDING if busy else State.CALLING))

    # --- transmitting

    def _transmit(self, decision: Decision) -> None:
        self._timer += 1
        frequency = self._frequency
        leaves = frequency.now > samples(frequency.values.station.stays_s)
        if leaves and decision.state is State.CALLING:
            self.left_at = frequency.now
            frequency.tell_station_left()
            return
        # Every over uses two draws, so that no decision shifts the draws of later overs.
        draws = self._talk.random(), self._talk.random()
        over = self._over(decision, *draws)
        frequency.begin(frequency.plan(self._participant, over, frequency.now))

    def next_over(self, decision: Decision) -> Over:
        """Return the next over as it would be spoken after a decision; nothing changes."""
        talk = Random()
        talk.setstate(self._talk.getstate())
        return self._over(decision, talk.random(), talk.random())

    def _over(self, decision: Decision, first: float, second: float) -> Over:
        speaker = self._frequency.station.speaker_after(len(self.operator.log))
        label = exchange_label(speaker.fields)
        held = without_gaps(decision.call)
        template = {
            State.CALLING: "cq contest, {call}, {call}"
            if first < self._values.calls_twice
            else "cq contest, {call}",
            State.ASKING: "{part}, again" if held else "again, again please",
            State.GIVING: "{part}, {exchange}" if held else "{exchange}",
            State.ASKING_EXCHANGE: f"your {label}, {label} again",
            State.REPEATING: "{short}, {short}",
            State.IDENTIFYING: "{call}, {call}",
            State.ENDING: f"{'{part}, ' if held else ''}thank you"
            f"{', {call}' if first < self._values.identifies else ''}"
            f"{', contest' if second < 0.3 else ''}",
            State.DROPPING: "sorry, again later" if first < 0.5 else "sorry, any more calls",
        }[decision.state]
        words = speaker.say(
            self._frequency.station.stream(f"far words {first}"), template, part=held
        )
        return Over(kind=decision.state.value, words=words, call=decision.call)

    def own_over_ended(self) -> None:
        """Listen from now on."""
        self.operator.over_ended()
        frequency = self._frequency
        self._window_start = frequency.now
        self._noticed = [o for o in self._noticed if o.end > frequency.now]
        if self._busy:
            self._set_timer(self._values.longest_wait_s)
        else:
            self._set_timer(self.operator.wait_s)

    # --- listening

    @property
    def is_off(self) -> bool:
        """True after the station has left the frequency."""
        return self.left_at is not None

    @property
    def is_transmitting(self) -> bool:
        """True while the far station transmits and hears nothing."""
        return self._frequency.is_on_air(FAR)

    @property
    def _busy(self) -> bool:
        return any(o.end > self._frequency.now for o in self._noticed)

    def voice_started(self, on_air: OnAir) -> None:
        """Decide whether the operator notices a voice that starts."""
        draw = self._frequency.station.stream(f"notice {on_air.speaker} {on_air.number}").random()
        level_db = on_air.participant.far_db
        if level_db is None or not self._frequency.ears.notices(level_db, draw):
            return
        self._noticed.append(on_air)
        if not self.is_transmitting and not self.is_off:
            self._set_timer(self._values.longest_wait_s)

    def voice_replaced(self, old: OnAir, new: OnAir) -> None:
        """Replace an over that became longer or was broken off."""
        self._noticed = [new if o is old else o for o in self._noticed]

    def voice_ended(self, on_air: OnAir) -> None:
        """Answer soon if the voice was noticed and at least partly heard."""
        if any(o is on_air for o in self._noticed) and not self.is_transmitting and not self.is_off:
            self._set_timer(self._values.reaction_s)

    def _set_timer(self, delay_s: float) -> None:
        self._timer += 1
        timer = self._timer
        self._frequency.schedule(delay_s, lambda: self._decide(timer))

    def _decide(self, timer: int) -> None:
        if timer != self._timer or self.is_off:
            return
        frequency = self._frequency
        waited = frequency.now - self._window_start
        ended = [o for o in self._noticed if self._window_start < o.end <= frequency.now]
        if not ended:
            if self._busy and waited < samples(LONGEST_BUSY_S):
                self._set_timer(1.0)
            else:
                self._transmit(self.operator.silence())
            return
        heard = self._listen(ended)
        patient = waited < samples(self._values.longest_wait_s)
        if self._busy and patient and not self.operator.is_enough(heard):
            left_s = self._values.longest_wait_s - waited / AUDIO_RATE_HZ
            self._set_timer(left_s)
            return
        self._transmit(self.operator.heard(heard))

    def _listen(self, ended: list[OnAir]) -> tuple[HeardOver, ...]:
        frequency = self._frequency
        reception = frequency.air.receive(
            "far",
            frequency.recent(without=FAR),
            self._window_start,
            frequency.now,
            told=ended,
        )
        heard = frequency.ears.listen(reception)
        self.listenings.append((frequency.now, heard))
        return heard
