"""The operators: people who do not exist, one voice each, kept apart in pitch, size, pace, manner.

They are data: data/roster.toml holds those of the engines that come with the installation,
data/studio_people.toml those of the optional engine. Accuracy of each under the recogniser gate:
see DEVELOPERS.md, remade by `python -m tests.tools.voice_gate`; how far apart they are:
`python -m tests.tools.distinctness`.
"""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from random import Random

from drill.core.errors import UserError
from drill.core.models import Operator
from drill.voices.engines.studio import voice_files
from drill.voices.people.origins import weights
from phonetics.callsigns import Callsign

SYSTEM_PREFIX = "system-"
BANK_PREFIX = "bank-"
BUNDLED, STUDIO = "bundled", "studio"
GROUPS = {BUNDLED: "roster.toml", STUDIO: "studio_people.toml"}
"""Names that stand for several operators, and the file that holds them."""
SLOW_ENGINES = ("studio",)
"""Take seconds to start: not for what has to sound at once."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Person:
    """A row of the data: an operator and the name of its habits, "" for none of the data's."""

    operator: Operator
    habits: str


@cache
def people(group: str) -> tuple[Person, ...]:
    """Return the people of one of GROUPS; none where the group is not part of this version."""
    data = files("drill.voices") / "data" / GROUPS[group]
    if not data.is_file():
        return ()
    rows = tomllib.loads(data.read_text("utf-8"))["operators"]
    return tuple(
        Person(operator=Operator(**row), habits=habits)
        for row in rows
        for habits in [row.pop("habits", "")]
    )


ROSTER: tuple[Operator, ...] = tuple(person.operator for person in people(BUNDLED))


def person(name: str) -> Person | None:
    """Return the person of that name in the data, None where there is none."""
    found = (each for group in GROUPS for each in people(group) if each.operator.name == name)
    return next(found, None)


def operator(name: str) -> Operator:
    """Return the operator of that name.

    "system-" and a voice of the system gives that voice, "bank-" and the name of a word bank its
    recordings, "studio-" and a voice of the user's folder that one. Raises: UserError where there
    is none; NoVoice where the system's voices cannot be listed.
    """
    found = person(name)
    if found is not None:
        return found.operator
    if name.startswith(voice_files.PREFIX):
        return voice_files.own_operator(name)
    if name.startswith(SYSTEM_PREFIX):
        from drill.voices.engines.system.engine import system_operator

        return system_operator(name)
    if name.startswith(BANK_PREFIX):
        from drill.voices.wordbank.engine import bank_operator

        return bank_operator(name)
    raise UserError(
        f"no operator {name!r}; give names that `faintcall choices` lists, system-NAME, bank-NAME, "
        f"or a group: {', '.join(GROUPS)}"
    )


def operators(names: Sequence[str]) -> tuple[Operator, ...]:
    """Return the operators of names and groups, each once; hard ones only by their own name.

    Raises: UserError where a name is unknown, a group has nobody, or nothing is named; NoVoice as
    in operator.
    """
    found: list[Operator] = []
    for name in names:
        if name not in GROUPS:
            found.append(operator(name))
            continue
        members = [each.operator for each in people(name) if not each.operator.hard]
        if not members:
            raise UserError(f"the group {name!r} has no operators in this version of faintcall")
        found += members
    if not found:
        raise UserError("no operator named; name at least one or leave the choice out")
    return tuple(dict.fromkeys(found))


def draw_operator(
    rng: Random,
    names: Sequence[str] | None,
    *,
    call: Callsign | None = None,
    pace: float = 1.0,
    quick: bool = False,
) -> Operator:
    """Return an operator drawn from those named; None: the group "bundled".

    call: what is to be said; accents agree loosely with where it is from (drill.voices.people.origins).
    pace multiplies the operator's own pace. quick: leaves out engines that are slow to start, where
    others are named too.
    Raises: UserError where a name is unknown, none is named, or pace is not from 0.5 to 2.
    """
    if not 0.5 <= pace <= 2:
        raise UserError(f"pace {pace:g} is out of range; choose 0.5 to 2")
    choices = operators((BUNDLED,) if names is None else names)
    if quick:
        choices = tuple(each for each in choices if each.engine not in SLOW_ENGINES) or choices
    (drawn,) = rng.choices(choices, weights(choices, call))
    return replace(drawn, pace=round(drawn.pace * pace, 3))
