"""The trainee's own station: its transmissions, whether anybody hears them or not."""

from drill.contact.air import OnAir, Participant
from drill.contact.comparison import has_sent_exchange
from drill.contact.model_air import ModelAir
from drill.contact.overs import TRAINEE, Over, Speaker, joined_over
from drill.hunt.setup import HuntSetup
from drill.hunt.speech import SpeechSource, speech_of, timed_by_speech


class TraineeTransmitter:
    """The trainee's transmissions; `overs` lists them in order. Times are story times."""

    def __init__(self, setup: HuntSetup, speech: SpeechSource | None) -> None:
        """Prepare the station."""
        self.overs: list[OnAir] = []
        self._speech = speech
        self._model = ModelAir(setup.values.contact, setup.plan.conditions.fading)
        operator = setup.own_speaker(0).operator
        self._participant = Participant(name=TRAINEE, path_seed=0, operator=operator)

    def is_sending(self, at: int) -> bool:
        """Return whether the station transmits at a time; it then hears nothing."""
        return any(over.start <= at < over.end for over in self.overs[-2:])

    @property
    def spans(self) -> list[tuple[int, int]]:
        """Start and end of every over."""
        return [(over.start, over.end) for over in self.overs]

    def exchange_sent(self, own: Speaker, *, since: int) -> str:
        """Return the exchange as sent since a time, "" if none was sent."""
        sent = has_sent_exchange(own, (over.over for over in self.overs if over.end > since))
        return " ".join(field.text for field in own.fields) if sent else ""

    def send(self, over: Over, at: int) -> OnAir:
        """Start transmitting; if the station already transmits, append to the over."""
        if self.overs and at < self.overs[-1].end:
            last = self.overs.pop()
            over, at = joined_over(last.over, over), last.start
        self.overs.append(self._keyed(over, at))
        return self.overs[-1]

    def break_off(self, at: int) -> None:
        """Stop transmitting, if the station transmits."""
        if self.is_sending(at):
            self.overs[-1] = self.overs[-1].broken_off(at)

    def _keyed(self, over: Over, start: int) -> OnAir:
        on_air = self._model.key(self._participant, over, len(self.overs), start)
        return timed_by_speech(on_air, speech_of(on_air, self._speech, 0))
