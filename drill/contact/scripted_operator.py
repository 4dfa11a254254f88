"""A scripted operator that calls a far station and follows the rules of the procedure.

It calls once, when the others have ended; repeats the part that the station asked for; corrects a
wrong call together with the exchange; and logs only after it has heard the end of the contact. Each
field of `Manners` can break a rule. It hears by the model, and acts through a `Rig`. Times are in
samples.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random
from typing import Protocol

from drill.contact.acts import AGAIN_PART, CALL, CORRECTION, EXCHANGE, PART
from drill.contact.air import OnAir, Reception, samples
from drill.contact.callers import OPENINGS, addresses, missing_characters
from drill.contact.evidence import Evidence
from drill.contact.far_states import State
from drill.contact.hearing import HeardToken, characters_of
from drill.contact.model_ears import ModelEars
from drill.contact.overs import Over
from drill.contact.understanding import is_call_form
from drill.contact.values import ContactValues

MAX_CORRECTIONS, MAX_REPEATS = 2, 2


@dataclass(frozen=True, kw_only=True)
class Manners:
    """How the scripted operator behaves.

    calls_over_others: calls while another station is being worked. mends: answers questions and
    corrects errors. doubles: says its call twice without being asked. max_calls: number of calls
    after which it gives up. insists_on_call: calls only once it has copied a whole call, and asks
    for it before it logs. call_delay_s, answer_delay_s: shortest and longest time in seconds from
    the end of an over to its own.
    """

    calls_over_others: bool = False
    mends: bool = True
    doubles: bool = False
    max_calls: int = 3
    insists_on_call: bool = False
    call_delay_s: tuple[float, float] = (0.25, 1.1)
    answer_delay_s: tuple[float, float] = (0.25, 0.6)


def _says_call_twice(over: Over) -> bool:
    """Return whether the far station says its call twice, which its rhythm tells a listener."""
    said = [word.means for word in over.words if word.field == "call"]
    half = len(said) // 2
    return half > 0 and said[:half] == said[half:]


class Rig(Protocol):
    """The operator's access to one contact: its state and the acts that are possible."""

    @property
    def now(self) -> int:
        """Present time."""
        ...

    @property
    def far_is_sending(self) -> bool:
        """True while the far station transmits."""
        ...

    @property
    def own_end(self) -> int | None:
        """End of the operator's last over, None before the first."""
        ...

    def say(self, kind: str) -> None:
        """Send an over; kind: a key of drill.contact.acts.SAYINGS."""
        ...

    def note(self, text: str) -> None:
        """Note a line."""
        ...

    def log(self) -> None:
        """Log the noted call and exchange."""
        ...

    def leave(self) -> None:
        """Give up the station."""
        ...


class ScriptedOperator:
    """One contact. Feed it with `hear` and `tick`; `next_at` is the time of its next action.

    own_call: its call. seed: of its random streams. state: "wait", "called" or "sent" (its
    exchange). far_call: the call as copied. calls: number of its calls. first_reply: start of the
    far station's first answer, None before.
    """

    def __init__(
        self,
        rig: Rig,
        *,
        own_call: str,
        values: ContactValues,
        ears: ModelEars,
        seed: int,
        manners: Manners,
    ) -> None:
        """Prepare for a contact."""
        self._rig, self._own_call, self._values = rig, own_call, values
        self._ears, self._seed, self._manners = ears, seed, manners
        self._rng = Random(f"faintcall contact {seed} scripted trainee")
        self.state = "wait"
        self.far_call = Evidence()
        self._far_report, self._far_exchange = Evidence(), Evidence()
        self.calls = 0
        self._exchanges = self._repeats = self._corrections = 0
        self._agenda: tuple[int, Sequence[str]] | None = None
        self._silent_at: int | None = None
        self.first_reply: int | None = None

    # --- time

    @property
    def next_at(self) -> int | None:
        """Time of the next action unless an over is heard before; None if none is planned."""
        times = [] if self._agenda is None else [self._agenda[0]]
        times += [] if self._silent_at is None else [self._silent_at]
        return min(times, default=None)

    def tick(self) -> None:
        """Perform the action that is due now."""
        now = self._rig.now
        if self._agenda is not None and self._agenda[0] <= now:
            kinds, self._agenda = self._agenda[1], None
            for kind in kinds:
                self._rig.say(kind)
            self._wait_for_answer()
        elif self._silent_at is not None and self._silent_at <= now:
            self._silent_at = None
            self._hear_nothing()

    def _soon(self, *kinds: str, delay_s: tuple[float, float] | None = None) -> None:
        wait = samples(self._rng.uniform(*(delay_s or self._manners.answer_delay_s)))
        self._agenda = (self._rig.now + wait, kinds)
        self._silent_at = None

    def _wait_for_answer(self) -> None:
        caller, end = self._values.caller, self._rig.own_end
        wait_s = caller.silence_s if self.state == "called" else caller.after_exchange_s
        if end is not None:
            self._silent_at = end + samples(wait_s)

    def _call(self) -> None:
        self.calls += 1
        self.state = "called"
        kinds = (CALL, CALL) if self._manners.doubles else (CALL,)
        self._soon(*kinds, delay_s=self._manners.call_delay_s)

    def _stand_by(self) -> None:
        """Wait while another station is being worked, or call over it."""
        self._agenda = self._silent_at = None
        self.state = "wait"
        if self._manners.calls_over_others and self.calls < self._manners.max_calls:
            self._call()

    # --- hearing

    def hear(self, over: OnAir, reception: Reception) -> None:
        """React to an over of the far station that has just ended. reception: its words."""
        voice = reception.voices[0]
        if not voice.words:
            return
        snr_db = sum(word.snr_db for word in voice.words) / len(voice.words)
        missed = 1 - self._ears.word_probability(snr_db)
        if Random(f"{self._seed} sense {over.number}").random() < missed**2:
            return
        spelt = replace(voice, words=tuple(word for word in voice.words if word.word.means))
        tokens = self._ears.listen(replace(reception, voices=(spelt,)))[0].tokens
        words = list(zip(spelt.words, tokens, strict=True))
        called = [token for word, token in words if word.word.field == "call"]
        self._add_call(called, tries=2 if _says_call_twice(over.over) else 1)
        kind = over.over.kind
        part = [t for w, t in words if w.word.field == "part"]
        if kind in OPENINGS:
            self._hear_opening(over, part)
        elif kind == State.ASKING.value:
            self._hear_asking(over)
        elif kind in (State.GIVING.value, State.REPEATING.value):
            report = [t for w, t in words if w.word.field == "report"]
            self._far_report = self._far_report.add(self._characters(report))
            numbers = [t for w, t in words if w.word.field not in ("", "part", "call", "report")]
            self._hear_exchange(over, part, numbers)
        elif kind == State.ASKING_EXCHANGE.value and self.state == "sent":
            self._soon(*((PART,) if self._manners.mends else ()))

    def _add_call(self, called: Sequence[HeardToken], *, tries: int) -> None:
        heard = self._characters(called)
        size = len(heard) // tries
        for number in range(tries if size else 0):
            self.far_call = self.far_call.add(heard[number * size : (number + 1) * size])

    def _characters(self, tokens: Sequence[HeardToken]) -> tuple[str, ...]:
        return characters_of(tokens, self._values.ears.doubt_below)

    def _hear_opening(self, over: OnAir, read_back: Sequence[HeardToken]) -> None:
        kind = over.over.kind
        if self.state == "sent" and kind in (State.ENDING.value, State.CALLING.value):
            wrong = bool(over.over.call) and self._notices_error(over.over.call, read_back)
            if wrong and self._corrections < MAX_CORRECTIONS and self._manners.mends:
                self._corrections += 1
                self._soon(CORRECTION)
                return
            self._note()
            if self._knows_call or self._repeats >= MAX_REPEATS:
                self._rig.log()
            else:
                self._repeats += 1
                self._soon(AGAIN_PART)
            return
        self.state = "wait"
        if self.calls >= self._manners.max_calls:
            self._rig.leave()
        elif self.calls or (self.far_call.is_whole and self._knows_call):
            self._call()

    @property
    def _knows_call(self) -> bool:
        call, insists = self.far_call, self._manners.insists_on_call
        return not insists or (call.is_whole and is_call_form(call.held))

    def _hear_asking(self, over: OnAir) -> None:
        mine = addresses(over.over.call, self._own_call)
        nobody_named = not any(c != "?" for c in over.over.call)
        if not mine and not (nobody_named and self.state == "called"):
            self._stand_by()
            return
        self.state = "sent" if self._exchanges else "called"
        self._note_reply(over)
        if not self._manners.mends:
            self._soon(EXCHANGE)
            self.state = "sent"
            return
        wrong = Evidence().add(tuple(self._own_call)).compare(over.over.call)[1]
        self._soon(CORRECTION if wrong else PART)

    def _hear_exchange(
        self, over: OnAir, called: Sequence[HeardToken], numbers: Sequence[HeardToken]
    ) -> None:
        unnamed = not over.over.call and self.state == "sent"
        if not (addresses(over.over.call, self._own_call) or unnamed):
            self._stand_by()
            return
        self._note_reply(over)
        count = 2 if over.over.kind == State.REPEATING.value else 1
        heard = self._characters(numbers)
        for part in range(count):
            size = len(heard) // count
            self._far_exchange = self._far_exchange.add(heard[part * size : (part + 1) * size])
        self.state = "sent"
        if not self._far_exchange.is_whole and self._repeats < MAX_REPEATS:
            self._repeats += 1
            self._note()
            self._soon(AGAIN_PART)
            return
        self._exchanges += 1
        wrong = bool(over.over.call) and self._notices_error(over.over.call, called)
        self._soon(*((CORRECTION, EXCHANGE) if wrong and self._manners.mends else (EXCHANGE,)))

    def _notices_error(self, said: Sequence[str], heard: Sequence[HeardToken]) -> bool:
        """Return whether a character was left out, or a wrong one was made out."""
        if missing_characters(tuple(said), self._own_call):
            return True
        own = Evidence().add(tuple(self._own_call))
        return own.compare(self._characters(heard))[1] > 0 and own.compare(said)[1] > 0

    def _note_reply(self, over: OnAir) -> None:
        if self.first_reply is None:
            self.first_reply = over.start

    def _hear_nothing(self) -> None:
        if self._rig.far_is_sending:
            self._silent_at = self._rig.now + samples(1.0)
        elif self.state == "called":
            if self.calls < self._manners.max_calls and self.calls % 2:
                self.calls += 1
                self._soon(CALL, delay_s=(0.0, 0.1))
            else:
                self.state = "wait"
                if self.calls >= self._manners.max_calls:
                    self._rig.leave()
        elif self.state == "sent":
            if self._exchanges < self._values.caller.max_exchanges + 1:
                self._exchanges += 1
                self._soon(EXCHANGE, delay_s=(0.0, 0.1))
            else:
                self._rig.leave()

    def _note(self) -> None:
        report = "" if self._far_report.gaps else self._far_report.text
        self._rig.note(f"{self.far_call.text} {report} {self._far_exchange.text}")
