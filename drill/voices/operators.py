"""Finds operators by name or group, and draws one at random for a call.

Besides the operators of the roster (drill.voices.people) there are operators whose voices exist
only on this computer: voices of the operating system, voices in the user's studio folder, and word
banks. The prefix of the name tells the kind.
"""

from collections.abc import Sequence
from dataclasses import replace
from random import Random

from drill.core.errors import UserError
from drill.core.models import Operator
from drill.voices.engines.studio import voice_files
from drill.voices.engines.system.engine import SYSTEM_PREFIX, system_operator
from drill.voices.people import roster
from drill.voices.people.accent_groups import operator_weights
from drill.voices.people.roster import NATURAL_GROUP, OPERATOR_GROUPS
from drill.voices.wordbank.bank_operators import BANK_PREFIX, bank_operator
from phonetics.callsigns import Callsign

SLOW_ENGINES = ("studio",)
"""Engines that take seconds to start, too slow for a sound that has to start at once."""
PACE_FACTOR_RANGE = (0.5, 2.0)


def find_operator(name: str) -> Operator:
    """Return the operator with this name.

    The name is that of an operator in the roster, "system-" and a voice of the operating system,
    "studio-" and a voice in the user's studio folder, or "bank-" and a word bank.

    Raises: UserError for an unknown name; NoVoice if the system's voices cannot be listed.
    """
    entry = roster.find_roster_entry(name)
    if entry is not None:
        return entry.operator
    if name.startswith(voice_files.STUDIO_PREFIX):
        return voice_files.user_voice_operator(name)
    if name.startswith(SYSTEM_PREFIX):
        return system_operator(name)
    if name.startswith(BANK_PREFIX):
        return bank_operator(name)
    raise UserError(
        f"unknown operator {name!r}; choose a name that `faintcall choices` lists, system-NAME, "
        f"bank-NAME, or a group: {', '.join(OPERATOR_GROUPS)}"
    )


def find_operators(names: Sequence[str]) -> tuple[Operator, ...]:
    """Return the operators with these names, each once; a group's name means its members.

    A group excludes operators that speak only on request; these have to be named individually.

    Raises: UserError for an unknown name, an empty group, or no names at all; NoVoice as in
    find_operator.
    """
    operators: list[Operator] = []
    for name in names:
        if name not in OPERATOR_GROUPS:
            operators.append(find_operator(name))
            continue
        members = [operator for operator in roster.group_members(name) if not operator.hard]
        if not members:
            raise UserError(
                f"the group {name!r} has no operators in this version of faintcall; "
                "choose another group"
            )
        operators += members
    if not operators:
        raise UserError("no operator is named; name at least one, or omit the choice")
    return tuple(dict.fromkeys(operators))


def draw_operator(
    rng: Random,
    names: Sequence[str] | None,
    *,
    call: Callsign | None = None,
    pace: float = 1.0,
    skip_slow_engines: bool = False,
) -> Operator:
    """Return an operator drawn from those named, with its pace multiplied by `pace`.

    names: operators and groups; None for the group "natural". call: the call that the operator
    speaks; accents loosely agree with its country (drill.voices.people.accent_groups). pace: 0.5
    to 2. skip_slow_engines: leave out operators whose engine is slow to start, unless all are.

    Raises: UserError for an unknown name, an empty list of names, or a pace out of range; NoVoice
    as in find_operator.
    """
    low, high = PACE_FACTOR_RANGE
    if not low <= pace <= high:
        raise UserError(f"pace {pace:g} is out of range; choose {low:g} to {high:g}")
    candidates = find_operators((NATURAL_GROUP,) if names is None else names)
    if skip_slow_engines:
        quick = tuple(operator for operator in candidates if operator.engine not in SLOW_ENGINES)
        candidates = quick or candidates
    (drawn,) = rng.choices(candidates, operator_weights(candidates, call))
    return replace(drawn, pace=round(drawn.pace * pace, 3))
