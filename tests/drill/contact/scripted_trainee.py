"""A scripted trainee that follows the rules: it hears with the model's ears and acts by keys.

It follows the usual procedure of a hunter: call once, when the others have ended; give the part
that was asked for; correct a wrong call together with the exchange; log only after the end was
heard. Variants break one rule each.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from random import Random

from drill.contact.acts import (
    AGAIN_PART,
    CALL,
    CORRECTION,
    EXCHANGE,
    LEAVE,
    LOG,
    NOTE,
    PART,
    Act,
)
from drill.contact.air import OnAir, samples
from drill.contact.callers import addresses, missing_characters
from drill.contact.evidence import Evidence
from drill.contact.far_states import State
from drill.contact.frequency import Frequency, Trainee
from drill.contact.hearing import HeardToken, characters_of
from drill.contact.live import LiveContact
from drill.contact.model_air import ModelAir
from drill.contact.model_ears import ModelEars
from drill.contact.overs import FAR, TRAINEE, Speaker
from drill.contact.stations import FarStation, compose_station
from drill.contact.values import ContactValues, EarValues, load_values
from drill.core.conditions import Conditions, Fading
from drill.items.plan import Plan
from phonetics.message import Field

OWN = Speaker(
    call="E87ABC",
    fields=(
        Field(name="report", kind="report", text="59", optional_if="59"),
        Field(name="serial", kind="serial", text="034"),
    ),
)
FADING = Fading(name="mid-moderate", delay_ms=1.0, spread_hz=0.5)
PLAN = Plan(
    seed=1,
    count=10,
    part="over",
    mix="unassigned",
    conditions=Conditions(fading=FADING),
    voices=("birch", "maple"),
)
OPENINGS = (State.CALLING.value, State.ENDING.value, State.DROPPING.value)


@dataclass(frozen=True, kw_only=True)
class Manners:
    """How the scripted trainee behaves.

    calls_over_others: calls while another station is being worked. mends: answers questions and
    corrects errors. doubles: says its call twice without being asked. max_calls: number of calls
    after which it gives up.
    """

    calls_over_others: bool = False
    mends: bool = True
    doubles: bool = False
    max_calls: int = 3


def make_frequency(
    seed: int,
    *,
    watts: float,
    path_snr_db: float,
    callers: int = 0,
    near_db: float = 20.0,
    values: ContactValues | None = None,
    plan: Plan = PLAN,
    far_ears: EarValues | None = None,
) -> Frequency:
    """Return a frequency on the accelerated clock, with a path of a known mean strength.

    far_ears: figures of the far end's ears, None for those of a trained listener.
    """
    values = values or quiet_values()
    station = compose_station(
        replace(plan, seed=seed), values, number=0, place=0, path_mean_db=path_snr_db
    )
    noise_db = near_db - (station.near_db - station.noise_above_db)
    station = replace(station, callers=callers, noise_above_db=noise_db)
    return frequency_of(station, watts=watts, values=values, plan=plan, far_ears=far_ears)


@cache
def quiet_values() -> ContactValues:
    """Return the packaged figures for one path strength, without new callers and without end."""
    return load_values(
        {
            "path.sd_db": 0.0,
            "station.callers_per_hour": 0.0,
            "station.stays_s": 400.0,
            "station.busy_share": 0.0,
        }
    )


def frequency_of(
    station: FarStation,
    *,
    watts: float,
    values: ContactValues,
    plan: Plan = PLAN,
    far_ears: EarValues | None = None,
) -> Frequency:
    """Return a frequency on the accelerated clock; far_ears: as in make_frequency."""
    ears = ModelEars(
        far_ears or values.ears,
        station.ear_offset_db,
        lambda speaker, number: station.stream(f"ears {speaker} {number}"),
    )
    pace = max(0.7, 1 + values.speech.pace_sd * station.stream("own pace").gauss(0, 1))
    return Frequency(
        station=station,
        trainee=Trainee(speaker=OWN, watts=watts, pace=pace),
        plan=plan,
        exchange=plan.load_exchange(),
        values=values,
        air=ModelAir(values, plan.conditions.fading),
        ears=ears,
    )


class ScriptedTrainee:
    """Plays one contact to its end; `run` returns the contact."""

    def __init__(self, contact: LiveContact, manners: Manners | None = None) -> None:
        """Prepare for a contact."""
        self.contact = contact
        self.manners = manners or Manners()
        station, values = contact.frequency.station, contact.frequency.values
        self.rng = station.stream("scripted trainee")
        offset_db = values.ears.station_sd_db * station.stream("own ears").gauss(0, 1)
        self.ears = ModelEars(
            values.ears,
            offset_db,
            lambda speaker, number: station.stream(f"own ears {speaker} {number}"),
        )
        self.values = values
        self.state = "wait"  # wait, called, sent
        self.far_call, self.far_report, self.far_exchange = Evidence(), Evidence(), Evidence()
        self.calls = self.exchanges = self.repeats = self.corrections = 0
        self.heard_overs: set[int] = set()
        self.agenda: tuple[int, Sequence[str]] | None = None
        self.silent_at: int | None = None
        self.first_reply: int | None = None

    def run(self, limit_s: float = 400.0) -> LiveContact:
        """Play until the contact has ended."""
        contact = self.contact
        while not contact.ended:
            times = [at for at in (contact.next_at, self.silent_at) if at is not None]
            if self.agenda is not None:
                times.append(self.agenda[0])
            if not times or min(times) > samples(limit_s):
                self.say_now(LEAVE)
                break
            contact.advance(min(times))
            self.listen()
            if self.agenda is not None and self.agenda[0] <= contact.now:
                acts, self.agenda = self.agenda[1], None
                for kind in acts:
                    self.say_now(kind)
                self.wait_for_answer()
            elif self.silent_at is not None and self.silent_at <= contact.now:
                self.silent_at = None
                self.silence()
        return contact

    # --- acting

    def say_now(self, kind: str, text: str = "") -> None:
        self.contact.act(Act(at=self.contact.now, kind=kind, text=text))

    def soon(self, *kinds: str, low_s: float = 0.25, high_s: float = 0.6) -> None:
        delay = samples(self.rng.uniform(low_s, high_s))
        self.agenda = (self.contact.now + delay, kinds)
        self.silent_at = None

    def wait_for_answer(self) -> None:
        mine = [o for o in self.contact.frequency.trace if o.speaker == TRAINEE]
        caller = self.values.caller
        wait_s = caller.silence_s if self.state == "called" else caller.after_exchange_s
        if mine:
            self.silent_at = mine[-1].end + samples(wait_s)

    def call(self) -> None:
        self.calls += 1
        self.state = "called"
        kinds = (CALL, CALL) if self.manners.doubles else (CALL,)
        self.soon(*kinds, low_s=0.25, high_s=1.1)

    def stand_by(self) -> None:
        """Wait while another station is being worked, or call over it."""
        self.agenda = self.silent_at = None
        self.state = "wait"
        if self.manners.calls_over_others and self.calls < self.manners.max_calls:
            self.call()

    # --- hearing

    def listen(self) -> None:
        frequency = self.contact.frequency
        for over in frequency.trace:
            if over.speaker != FAR or id(over) in self.heard_overs or over.end > self.contact.now:
                continue
            self.heard_overs.add(id(over))
            if not self.contact.is_sending:
                self.hear(over)

    def hear(self, over: OnAir) -> None:
        frequency = self.contact.frequency
        mine = [o.end for o in frequency.trace if o.speaker == TRAINEE]
        reception = frequency.air.receive(
            "near",
            frequency.recent(without=TRAINEE),
            max([0, *mine]),
            self.contact.now,
            told=[over],
        )
        voice = reception.voices[0]
        if not voice.words:
            return
        snr_db = sum(word.snr_db for word in voice.words) / len(voice.words)
        missed = 1 - self.ears.word_probability(snr_db)
        sense = Random(f"{frequency.station.seed} sense {over.number}").random()
        if sense < missed**2:
            return
        spelt = replace(voice, words=tuple(word for word in voice.words if word.word.means))
        tokens = self.ears.listen(replace(reception, voices=(spelt,)))[0].tokens
        words = list(zip(spelt.words, tokens, strict=True))
        called = [token for word, token in words if word.word.field == "call"]
        said_twice = len([w for w in over.over.words if w.field == "call"]) > 7
        self.add_call(called, tries=2 if said_twice else 1)
        kind = over.over.kind
        if kind in OPENINGS:
            self.hear_opening(over, [t for w, t in words if w.word.field == "part"])
        elif kind == State.ASKING.value:
            self.hear_asking(over)
        elif kind in (State.GIVING.value, State.REPEATING.value):
            report = [t for w, t in words if w.word.field == "report"]
            self.far_report = self.far_report.add(self.characters(report))
            numbers = [t for w, t in words if w.word.field not in ("", "part", "call", "report")]
            self.hear_exchange(over, [t for w, t in words if w.word.field == "part"], numbers)
        elif kind == State.ASKING_EXCHANGE.value and self.state == "sent":
            self.soon(*((PART,) if self.manners.mends else ()))

    def add_call(self, called: Sequence[HeardToken], *, tries: int) -> None:
        heard = self.characters(called)
        size = len(heard) // tries
        for number in range(tries if size else 0):
            self.far_call = self.far_call.add(heard[number * size : (number + 1) * size])

    def characters(self, tokens: Sequence[HeardToken]) -> tuple[str, ...]:
        return characters_of(tokens, self.values.ears.doubt_below)

    def hear_opening(self, over: OnAir, read_back: Sequence[HeardToken]) -> None:
        kind = over.over.kind
        if self.state == "sent" and kind in (State.ENDING.value, State.CALLING.value):
            wrong = bool(over.over.call) and self.notices_error(over.over.call, read_back)
            if wrong and self.corrections < 2 and self.manners.mends:
                self.corrections += 1
                self.soon(CORRECTION)
                return
            self.log()
            return
        self.state = "wait"
        if self.calls >= self.manners.max_calls:
            self.say_now(LEAVE)
        elif self.far_call.is_whole or self.calls:
            self.call()

    def hear_asking(self, over: OnAir) -> None:
        mine = addresses(over.over.call, OWN.call)
        nobody_named = not any(c != "?" for c in over.over.call)
        if not mine and not (nobody_named and self.state == "called"):
            self.stand_by()
            return
        self.state = "sent" if self.exchanges else "called"
        self.note_reply(over)
        if not self.manners.mends:
            self.soon(EXCHANGE)
            self.state = "sent"
            return
        wrong = Evidence().add(tuple(OWN.call)).compare(over.over.call)[1]
        self.soon(CORRECTION if wrong else PART)

    def hear_exchange(
        self, over: OnAir, called: Sequence[HeardToken], numbers: Sequence[HeardToken]
    ) -> None:
        mine = addresses(over.over.call, OWN.call) or (not over.over.call and self.state == "sent")
        if not mine:
            self.stand_by()
            return
        self.note_reply(over)
        count = 2 if over.over.kind == State.REPEATING.value else 1
        heard = self.characters(numbers)
        for part in range(count):
            size = len(heard) // count
            self.far_exchange = self.far_exchange.add(heard[part * size : (part + 1) * size])
        self.state = "sent"
        if not self.far_exchange.is_whole and self.repeats < 2:
            self.repeats += 1
            self.note()
            self.soon(AGAIN_PART)
            return
        self.exchanges += 1
        wrong = bool(over.over.call) and self.notices_error(over.over.call, called)
        if wrong and self.manners.mends:
            self.soon(CORRECTION, EXCHANGE)
        else:
            self.soon(EXCHANGE)

    def notices_error(self, said: Sequence[str], heard: Sequence[HeardToken]) -> bool:
        """Return whether a character was left out, or a wrong one was made out."""
        if missing_characters(tuple(said), OWN.call):
            return True
        own = Evidence().add(tuple(OWN.call))
        return own.compare(self.characters(heard))[1] > 0 and own.compare(said)[1] > 0

    def note_reply(self, over: OnAir) -> None:
        if self.first_reply is None:
            self.first_reply = over.start

    def silence(self) -> None:
        if self.contact.frequency.is_on_air(FAR):
            self.silent_at = self.contact.now + samples(1.0)
        elif self.state == "called":
            if self.calls < self.manners.max_calls and self.calls % 2:
                self.calls += 1
                self.soon(CALL, low_s=0.0, high_s=0.1)
            else:
                self.state = "wait"
                if self.calls >= self.manners.max_calls:
                    self.say_now(LEAVE)
        elif self.state == "sent":
            if self.exchanges < self.values.caller.max_exchanges + 1:
                self.exchanges += 1
                self.soon(EXCHANGE, low_s=0.0, high_s=0.1)
            else:
                self.say_now(LEAVE)

    def note(self) -> None:
        report = "" if self.far_report.gaps else self.far_report.text
        self.say_now(NOTE, f"{self.far_call.text} {report} {self.far_exchange.text}")

    def log(self) -> None:
        self.note()
        self.say_now(LOG)
