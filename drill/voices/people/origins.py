"""Who speaks a call: accents agree loosely with the country that its prefix belongs to.

What is common where stands in data/origins.toml. An accent is a hint and never a proof, as on the
air: a share of every country's calls is spoken by anybody else.
"""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from drill.core.models import Operator
from phonetics.callsigns import Callsign
from phonetics.series import holder_of


@dataclass(frozen=True, kw_only=True, slots=True)
class Origin:
    """Countries that speak alike: the share of their calls with one of the accents, 0 to 1."""

    name: str
    share: float
    accents: tuple[str, ...]
    prefixes: tuple[str, ...]


@cache
def origins() -> tuple[Origin, ...]:
    """Return the origins of the data."""
    text = (files("drill.voices") / "data" / "origins.toml").read_text("utf-8")
    return tuple(
        Origin(
            name=name,
            share=row["share"],
            accents=tuple(row["accents"]),
            prefixes=tuple(row["prefixes"]),
        )
        for name, row in tomllib.loads(text).items()
    )


@cache
def _by_holder() -> dict[str, Origin]:
    return {holder_of(prefix): origin for origin in origins() for prefix in origin.prefixes}


def origin_of(call: Callsign) -> Origin | None:
    """Return the origin of the call's own prefix, a place before a stroke is but a visit.

    None where the data has nothing to say, as for a prefix that nobody holds.
    """
    return _by_holder().get(call.holder) if call.holder else None


def weights(people: Sequence[Operator], call: Callsign | None) -> list[float]:
    """Return how likely each of the people speaks the call, in their order; the sum is 1.

    Everybody alike where there is no call, its origin says nothing, or the people all have, or all
    lack, its accents.
    """
    origin = None if call is None else origin_of(call)
    near = [origin is not None and each.accent in origin.accents for each in people]
    count = sum(near)
    if origin is None or count in (0, len(people)):
        return [1 / len(people)] * len(people)
    within, without = origin.share / count, (1 - origin.share) / (len(people) - count)
    return [within if each else without for each in near]
