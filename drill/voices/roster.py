"""The operators: people who do not exist, one voice each, kept apart in pitch, size, pace, manner.

Pitch and tract go together as they do in people: a lower voice comes from a longer tract. Accuracy
of each under the recogniser gate: see DEVELOPERS.md, remade by `python -m drill.voices.gate`.
"""

from collections.abc import Sequence
from dataclasses import replace
from random import Random

from drill.errors import UserError
from drill.items import Operator

SYSTEM_PREFIX = "system-"


def _natural(
    name: str, pitch_hz: float, tract: float, pace: float, **bent: float | str
) -> Operator:
    return Operator(
        name=name, engine="natural", voice="heart", pitch_hz=pitch_hz, tract=tract, pace=pace,
        breath_db=float(bent.get("breath_db", 0)), melody=float(bent.get("melody", 1)),
        accent=str(bent.get("accent", "")),
    )  # fmt: skip


def _formant(
    name: str, voice: str, pitch_hz: float, tract: float, pace: float, melody: float = 1
) -> Operator:
    return Operator(
        name=name, engine="formant", voice=voice, pitch_hz=pitch_hz, tract=tract, pace=pace,
        melody=melody,
    )  # fmt: skip


ROSTER: tuple[Operator, ...] = (
    _natural("boulder", 80, 0.83, 0.95, melody=0.8),
    _natural("gravel", 90, 0.84, 1.10, breath_db=6, melody=0.7),
    _natural("birch", 101, 0.86, 1.00),
    _natural("anvil", 107, 0.88, 1.25, melody=0.6),
    _natural("harbour", 113, 0.87, 1.05, accent="german"),
    _natural("slate", 120, 0.90, 1.15, melody=1.2),
    _natural("maple", 127, 0.89, 0.90, breath_db=4),
    _natural("copper", 143, 0.92, 1.20, melody=0.8),
    _natural("lantern", 151, 0.93, 1.00, accent="british"),
    _natural("willow", 160, 0.96, 0.95, breath_db=6),
    _natural("pebble", 180, 0.98, 1.10, melody=1.3),
    _natural("meadow", 190, 1.00, 1.00),
    _natural("amber", 202, 1.01, 1.25, melody=0.7),
    _natural("clover", 226, 1.04, 1.05, breath_db=3),
    _natural("sparrow", 254, 1.07, 1.15, melody=0.9),
    _formant("granite", "klatt2", 85, 0.94, 1.00),
    _formant("rivet", "klatt4", 96, 0.97, 1.10, 0.6),
    _formant("tin", "klatt2", 116, 1.00, 1.15),
    _formant("flint", "klatt3", 135, 1.00, 1.00, 1.3),
    _formant("reed", "klatt2", 170, 1.04, 1.05),
    _formant("wren", "klatt4", 214, 1.06, 1.10),
)


def operator(name: str) -> Operator:
    """Return the operator of that name; "system-" and a voice of the system gives that voice.

    Raises: UserError naming the choices where there is none; NoVoice where the system's voices
    cannot be listed.
    """
    for each in ROSTER:
        if each.name == name:
            return each
    if name.startswith(SYSTEM_PREFIX):
        from drill.voices.system import system_operator

        return system_operator(name)
    choices = ", ".join(each.name for each in ROSTER)
    raise UserError(f"no operator {name!r}; there are: {choices}, and system-NAME")


def draw_operator(rng: Random, names: Sequence[str] | None, *, pace: float = 1.0) -> Operator:
    """Return an operator drawn from those named; None: all of the roster that are not hard.

    pace multiplies the operator's own pace.
    Raises: UserError where a name is unknown, none is named, or pace is not from 0.5 to 2.
    """
    if not 0.5 <= pace <= 2:
        raise UserError(f"pace {pace:g} is out of range; choose 0.5 to 2")
    if names is not None and not names:
        raise UserError("no operator named; name at least one or leave the choice out")
    if names is None:
        choices = [each for each in ROSTER if not each.hard]
    else:
        choices = [operator(name) for name in names]
    drawn = rng.choice(choices)
    return replace(drawn, pace=round(drawn.pace * pace, 3))
