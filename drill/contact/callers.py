"""The other callers: they also call the far station, and hear each of its overs with a certain
probability."""

from collections.abc import Iterator
from functools import partial
from random import Random

from drill.contact.air import OnAir, Participant, samples
from drill.contact.evidence import Evidence, shared_characters
from drill.contact.far_states import State
from drill.contact.overs import MISSED, Over, Speaker, without_gaps
from drill.contact.scene import Scene
from drill.voices.operators import draw_operator
from drill.voices.people.habits import over_style_for
from phonetics.callsign_mixes import compose_callsign
from phonetics.message import Field

OPENINGS = frozenset({State.CALLING.value, State.ENDING.value, State.DROPPING.value})


def arrivals(frequency: Scene) -> Iterator[tuple[float, int]]:
    """Yield the time of each caller's arrival in seconds, and the caller's number from 1.

    New callers arrive as a Poisson process, as long as the station stays.
    """
    values = frequency.values.station
    rng = frequency.station.stream("arrivals")
    number = 0
    for number in range(1, frequency.station.callers + 1):
        yield 0.0, number
    time_s = 0.0
    while values.callers_per_hour > 0:
        time_s += rng.expovariate(values.callers_per_hour / 3600)
        if time_s > values.stays_s:
            return
        number += 1
        yield time_s, number


def addresses(held: tuple[str, ...], call: str) -> bool:
    """Return whether the characters that were said fit a call: at least as many agree as differ."""
    said = [character for character in held if character != MISSED]
    if not said or shared_characters(said, call) < 0.5 * len(said):
        return False
    agreeing, _ = Evidence().add(tuple(call)).compare(said)
    return agreeing >= 0.5 * len(said)


def missing_characters(held: tuple[str, ...], call: str) -> str:
    """Return the characters of a call that the far station lacks.

    "" if it has a wrong character, because the whole call is then needed.
    """
    own = Evidence().add(tuple(call))
    if own.compare(held)[1]:
        return ""
    return "".join(call[place] for place in own.unmatched(held))


class Caller:
    """One caller: it waits for an opening, calls, answers, and leaves once it has been worked."""

    def __init__(self, frequency: Scene, number: int) -> None:
        """Draw the caller's call, voice, level and patience."""
        self.name = f"caller {number}"
        self._frequency = frequency
        self._values = values = frequency.values.caller
        rng = frequency.station.stream(f"caller {number}")
        far_db = rng.gauss(values.level_mean_db, values.level_sd_db)
        audible = rng.random() < values.audible
        near_db = rng.gauss(values.audible_mean_db, values.audible_sd_db)
        self._tries_left = rng.randint(values.tries_low, values.tries_high)
        pace = max(0.7, rng.gauss(1, frequency.values.speech.pace_sd))
        self.speaker = _speaker(frequency, rng, number)
        self.participant = Participant(
            name=self.name,
            path_seed=rng.getrandbits(40),
            far_db=far_db,
            near_db=near_db if audible else None,
            pace=pace,
            operator=self.speaker.operator,
        )
        self._rng = rng
        self._state = "waiting"  # waiting, called, sent
        self._calls = self._exchanges = self._repeats = 0
        self._timer = 0
        self._planned: OnAir | None = None

    # --- hearing the far station

    def hear(self, on_air: OnAir) -> None:
        """React to an over of the far station that has just ended."""
        frequency, values, rng = self._frequency, self._values, self._rng
        if frequency.is_on_air(self.name) or rng.random() >= values.hears:
            return
        over, me = on_air.over, addresses(on_air.over.call, self.speaker.call)
        if over.kind in OPENINGS:
            if self._state == "sent" and over.kind != State.DROPPING.value:
                self._leave()
            else:
                self._state = "waiting"
                self._consider_calling()
        elif over.kind == State.ASKING.value:
            self._hear_asking(over, me=me)
        elif over.kind in (State.GIVING.value, State.REPEATING.value):
            self._hear_exchange(over, me=me or (not over.call and self._state == "sent"))
        elif over.kind == State.ASKING_EXCHANGE.value and self._state == "sent":
            self._say_soon("exchange", "{short}, {short}")

    def _hear_asking(self, over: Over, *, me: bool) -> None:
        held = [c for c in over.call if c != MISSED]
        undisciplined = self._rng.random() < self._values.undisciplined
        if not (me or (not held and self._state == "called") or undisciplined):
            self._cancel()
            self._state = "waiting"
            return
        self._state = "called"
        gaps = over.call.count(MISSED)
        if me and 0 < gaps <= 2 and self._rng.random() < self._values.missing_only:
            missing = missing_characters(over.call, self.speaker.call)
            if missing:
                self._say_soon("part", "{part}, {part}", part=missing)
                return
        self._say_soon("call", "{call}")

    def _hear_exchange(self, over: Over, *, me: bool) -> None:
        stray = self._rng.random() < self._values.stray_answer and self._calls > 0
        if not me and not stray:
            self._cancel()
            self._state = "waiting"
            return
        wrong = bool(over.call) and without_gaps(over.call) != self.speaker.call
        notices = self._rng.random() < self._values.notices_error
        self._state = "sent"
        self._exchanges += 1
        corrects = wrong and notices and me
        template = "correction, {call}, {exchange}" if corrects else "thank you, {exchange}"
        self._say_soon("exchange", template)

    def _consider_calling(self) -> None:
        if self._tries_left <= 0:
            self._leave()
        elif self._rng.random() < self._values.calls:
            self._call(self._rng.uniform(self._values.delay_low_s, self._values.delay_high_s))

    def _call(self, delay_s: float) -> None:
        self._tries_left -= 1
        self._calls += 1
        self._state = "called"
        draw = self._rng.random()
        if draw < self._values.partial:
            self._say("call", "{part}", delay_s, part=self.speaker.call[-2:])
        elif draw > 1 - self._values.doubled:
            self._say("call", "{call}, {call}", delay_s)
        else:
            self._say("call", "{call}", delay_s)

    # --- speaking

    def _say_soon(self, kind: str, template: str, *, part: str = "") -> None:
        self._say(kind, template, self._rng.uniform(0.25, 0.6), part=part)

    def _say(self, kind: str, template: str, delay_s: float, *, part: str = "") -> None:
        self._cancel()
        frequency = self._frequency
        words = self.speaker.say(self._rng, template, part=part)
        start = frequency.now + samples(delay_s)
        on_air = frequency.plan(self.participant, Over(kind=kind, words=words), start)
        self._planned = on_air
        frequency.expect(on_air)
        frequency.schedule(delay_s, partial(self._begin, self._timer))

    def _begin(self, timer: int) -> None:
        if (
            timer == self._timer
            and self._planned is not None
            and self._frequency.is_waiting(self.name)
        ):
            on_air, self._planned = self._planned, None
            self._frequency.begin(on_air)

    def _cancel(self) -> None:
        self._timer += 1
        if self._planned is not None:
            self._frequency.forget(self._planned)
            self._planned = None

    def over_ended(self) -> None:
        """Wait for an answer after the caller's own over."""
        values = self._values
        wait_s = values.silence_s if self._state == "called" else values.after_exchange_s
        self._frequency.schedule(wait_s, partial(self._silence, self._timer))

    def _silence(self, timer: int) -> None:
        if timer != self._timer or not self._frequency.is_waiting(self.name):
            return
        if self._frequency.is_on_air("far"):
            self._frequency.schedule(1.0, partial(self._silence, timer))
        elif self._state == "called":
            if self._tries_left > 0 and self._calls % 2:
                self._call(0.05)
            else:
                self._state = "waiting"
        elif self._state == "sent":
            if self._exchanges <= self._values.max_exchanges:
                self._exchanges += 1
                self._say("exchange", "{exchange}", 0.05)
            else:
                self._leave()

    def _leave(self) -> None:
        self._cancel()
        self._frequency.leave(self.name)


def _speaker(frequency: Scene, rng: Random, number: int) -> Speaker:
    """Return a caller with a call of the session's mix and an exchange of the same form."""
    plan = frequency.session_plan
    call = compose_callsign(rng, mix=plan.call_mix)
    operator = draw_operator(
        rng, plan.voices or None, call=call, pace=plan.pace, skip_slow_engines=True
    )
    fields: tuple[Field, ...] = frequency.exchange.compose(rng, call, progress=number)
    style = over_style_for(operator, rng, alternates=plan.alternates)
    return Speaker(call=call.text, fields=fields, operator=operator, over_style=style)
