"""A simulated recogniser that needs no sound: its chance to copy a call rises with the SNR."""

import pytest

from drill.core.models import Clip, Item
from drill.items.machine_copy import MachineCopy
from drill.recogniser import RecognisedWord, Recogniser
from drill.recogniser.grammar import Grammar
from tests.drill.simulated_trainee import SimulatedTrainee


class SilentRecogniser:
    """A recogniser with a name and a version that is never given a sound."""

    name = "silent"
    unsure_below = 0.5

    def __init__(self, version: str = "1") -> None:
        self.version = version

    def problem(self) -> str:
        return ""

    def recognise(self, clip: Clip, grammar: Grammar) -> tuple[RecognisedWord, ...]:
        raise AssertionError("no sound is expected here")


def copy_without_sound(
    monkeypatch: pytest.MonkeyPatch, *, x50_db: float = -9.0, version: str = "1"
) -> SilentRecogniser:
    """Replace the copying of items by a simulated machine; return its recogniser.

    x50_db: SNR at which it copies half of the characters.
    """
    recogniser = SilentRecogniser(version)
    simulated = SimulatedTrainee(seed=5, x50_db=x50_db)

    def copy_item(item: Item, given: Recogniser) -> MachineCopy:
        typed = simulated.type_answer(item)
        name = f"{given.name} {given.version}"
        return MachineCopy(recogniser=name, typed=typed, right=typed == item.message.call)

    monkeypatch.setattr("drill.session.machine.copy_item", copy_item)
    monkeypatch.setattr("drill.session.machine.find_recogniser", lambda name: recogniser)
    return recogniser
