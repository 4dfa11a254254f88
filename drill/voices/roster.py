"""The operators: people who do not exist, one voice each, kept apart in pitch, size, pace, manner.

Pitch and tract go together as they do in people: a lower voice comes from a longer tract. Accuracy
of each under the recogniser gate: see DEVELOPERS.md, remade by `python -m drill.voices.gate`.
"""

import tomllib
from collections.abc import Sequence
from dataclasses import replace
from importlib.resources import files
from random import Random

from drill.errors import UserError
from drill.items import Operator
from drill.voices import studio_people

SYSTEM_PREFIX = "system-"
BANK_PREFIX = "bank-"


ROSTER: tuple[Operator, ...] = tuple(
    Operator(**row)
    for row in tomllib.loads((files("drill.voices") / "data" / "roster.toml").read_text("utf-8"))[
        "operators"
    ]
)


def operator(name: str) -> Operator:
    """Return the operator of that name; "system-" and a voice of the system gives that voice.

    "bank-" and the name of a word bank gives the voice of its recordings.
    The studio engine's operators are found too, "studio-" and a voice of the user's folder among
    them, though no draw takes one that was not asked for.

    Raises: UserError naming the choices where there is none; NoVoice where the system's voices
    cannot be listed.
    """
    for each in ROSTER:
        if each.name == name:
            return each
    if found := studio_people.find(name):
        return found
    if name.startswith(SYSTEM_PREFIX):
        from drill.voices.system import system_operator

        return system_operator(name)
    if name.startswith(BANK_PREFIX):
        from drill.voices.bank import bank_operator

        return bank_operator(name)
    choices = ", ".join(each.name for each in ROSTER)
    raise UserError(f"no operator {name!r}; there are: {choices}, system-NAME and bank-NAME")


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
