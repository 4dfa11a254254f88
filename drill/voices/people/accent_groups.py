"""Accents for a call: they loosely agree with the country of the call's prefix.

`accent_groups.toml` says which accents are common in which countries. As on the air, an accent is a
hint but no proof: some calls of every country are spoken with a different accent.
"""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from drill.core.models import Operator
from drill.core.structuring import from_data
from phonetics.callsigns import Callsign
from phonetics.series import holder_of


@dataclass(frozen=True, kw_only=True, slots=True)
class AccentGroup:
    """Countries whose operators have the same accents.

    share: share of these countries' calls that is spoken with one of the accents, 0 to 1.
    accents: keys of the engines' accents, "" for none. prefixes: one prefix for each country.
    """

    name: str
    share: float
    accents: tuple[str, ...]
    prefixes: tuple[str, ...]


@cache
def accent_groups() -> tuple[AccentGroup, ...]:
    """Return all accent groups of the data file."""
    text = (files("drill.voices.people") / "accent_groups.toml").read_text("utf-8")
    return tuple(
        from_data(AccentGroup, {"name": name, **row}, name)
        for name, row in tomllib.loads(text).items()
    )


@cache
def _groups_by_holder() -> dict[str, AccentGroup]:
    """Return the accent group of each holder of a call sign series (ITU RR Appendix 42)."""
    return {holder_of(prefix): group for group in accent_groups() for prefix in group.prefixes}


def accent_group_of(call: Callsign) -> AccentGroup | None:
    """Return the accent group of the home prefix; a portable prefix before "/" is ignored.

    None if the prefix is unallocated or the data file does not list its holder.
    """
    return _groups_by_holder().get(call.holder) if call.holder else None


def operator_weights(operators: Sequence[Operator], call: Callsign | None) -> list[float]:
    """Return the probability that each operator speaks the call, in the same order; the sum is 1.

    All operators are equally likely if there is no call, if the call has no accent group, or if
    either all or none of the operators have one of the group's accents.
    """
    group = None if call is None else accent_group_of(call)
    matches = [group is not None and operator.accent in group.accents for operator in operators]
    count = sum(matches)
    if group is None or count in (0, len(operators)):
        return [1 / len(operators)] * len(operators)
    weight_with_accent = group.share / count
    weight_of_others = (1 - group.share) / (len(operators) - count)
    return [weight_with_accent if match else weight_of_others for match in matches]
