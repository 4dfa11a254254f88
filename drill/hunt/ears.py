"""How far operators hear in a hunt: a model for overs by keys, a recogniser for spoken ones."""

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property

from drill.contact.air import Reception
from drill.contact.hearing import Ears, HeardOver, HeardToken
from drill.contact.machine_ears import MachineEars, far_recogniser
from drill.contact.model_ears import ModelEars
from drill.hunt.band import Holder
from drill.hunt.setup import HuntSetup


class HuntEars:
    """Ears that hear words by a model, and sound by a recogniser.

    machine: returns the ears for sound, or None; called when sound is first heard.
    """

    name = "hunt"

    def __init__(self, model: Ears, machine: Callable[[], Ears | None] | None) -> None:
        """Store both."""
        self.doubt_below = model.doubt_below
        self._model, self._make_machine = model, machine

    @cached_property
    def _machine(self) -> Ears | None:
        return None if self._make_machine is None else self._make_machine()

    def notices(self, level_db: float, draw: float) -> bool:
        """Return whether a voice is noticed. See Ears."""
        return self._model.notices(level_db, draw)

    def listen(self, reception: Reception) -> tuple[HeardOver, ...]:
        """Return the words heard. See Ears."""
        if reception.clip is None or self._machine is None:
            return self._model.listen(reception)
        return tuple(
            replace(voice, tokens=tuple(map(self._weighed, voice.tokens)))
            for voice in self._machine.listen(reception)
        )

    def _weighed(self, token: HeardToken) -> HeardToken:
        """Return a token of the recogniser with the model's measure of doubt."""
        assert self._machine is not None
        if token.confidence >= self._machine.doubt_below:
            return token
        return replace(token, confidence=0.0)


def model_ears(setup: HuntSetup, holder: Holder) -> ModelEars:
    """Return a station's ears for words: a model of a trained listener."""
    station = holder.station
    return ModelEars(
        setup.values.contact.ears,
        station.ear_offset_db,
        lambda speaker, number: station.stream(f"ears {speaker} {number}"),
    )


def far_machine_ears(setup: HuntSetup, holder: Holder) -> MachineEars:
    """Return a station's ears for sound: a recogniser. Raises: NoRecogniser."""
    return MachineEars(
        far_recogniser(),
        setup.values.contact.recogniser,
        holder.station.ear_offset_db,
        setup.plan.load_exchange(),
    )
