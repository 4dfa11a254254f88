"""How one operator speaks: the habits that stay the same within an over.

Conventions: shares are from 0 to 1. The habits and how common they are are common practice, no
source; the figures of Manner.figures are those of `numerals`.
"""

from dataclasses import dataclass
from random import Random
from typing import TypeVar

T = TypeVar("T")

ZEROS = ("zero", "oh")
FIGURES = ("plain", "icao", "itu")
STROKES = ("stroke", "slash", "portable")


@dataclass(frozen=True, kw_only=True, slots=True)
class Manner:
    """The habits of one operator.

    alternates: share of letters said with another word than Appendix 14 has.
    zero: "zero" or "oh". figures: "plain", "icao" (tree, fower, fife, niner) or "itu" (nadazero).
    pairs: "one twenty-six" for 126. doubles: "double five" for 55, where figures are said singly.
    drop_zeros: "fourteen" or "one four" for 014. number_word: "number" before a serial number.
    labels: says what comes ("zone five", "age fifty"). run_on: no break after the report.
    repeat_call: gives the own call twice in phrases and overs. chatty: share of spare words.
    stroke: "stroke", "slash", or "portable" (the sense of /P, /M, /MM; "stroke" before others).
    words: the alternates that the operator keeps to; a letter that has none among them is free.
    hesitates: share of breaks between fields that hold an "er".

    Raises: ValueError where a habit has no such value.
    """

    alternates: float = 0.0
    zero: str = "zero"
    figures: str = "plain"
    pairs: bool = False
    doubles: bool = False
    drop_zeros: bool = False
    number_word: bool = False
    labels: bool = False
    run_on: bool = False
    repeat_call: bool = False
    chatty: float = 0.0
    stroke: str = "stroke"
    words: tuple[str, ...] = ()
    hesitates: float = 0.0

    def __post_init__(self) -> None:
        """Check every habit."""
        for name, allowed in (("zero", ZEROS), ("figures", FIGURES), ("stroke", STROKES)):
            if getattr(self, name) not in allowed:
                found, known = getattr(self, name), ", ".join(allowed)
                raise ValueError(f"{name} {found!r} is not a habit; use one of {known}")
        for name in ("alternates", "chatty", "hesitates"):
            if not 0.0 <= getattr(self, name) <= 1.0:
                raise ValueError(f"{name} {getattr(self, name)} is not a share from 0 to 1")


PLAIN = Manner()

_ALTERNATES = ((0.0, 50), (0.15, 25), (0.5, 15), (0.9, 10))
_FIGURES = (("plain", 80), ("icao", 19), ("itu", 1))
_STROKES = (("stroke", 45), ("slash", 30), ("portable", 25))


def draw_manner(rng: Random, *, alternates: float | None = None, plain: bool = False) -> Manner:
    """Return the habits of one operator, drawn from rng.

    alternates: the share to use, 0 to 1; None draws it. plain: Appendix 14, every digit, nothing
    else (alternates still counts).

    Raises: ValueError where alternates is not a share.
    """
    if plain:
        return Manner(alternates=alternates or 0.0)
    share = _pick(rng, _ALTERNATES)
    return Manner(
        alternates=share if alternates is None else alternates,
        zero="zero" if rng.random() < 0.6 else "oh",
        figures=_pick(rng, _FIGURES),
        pairs=rng.random() < 0.2,
        doubles=rng.random() < 0.12,
        drop_zeros=rng.random() < 0.3,
        number_word=rng.random() < 0.2,
        labels=rng.random() < 0.2,
        run_on=rng.random() < 0.45,
        repeat_call=rng.random() < 0.15,
        chatty=rng.choice((0.1, 0.4, 0.8)),
        stroke=_pick(rng, _STROKES),
    )


def _pick(rng: Random, weighted: tuple[tuple[T, float], ...]) -> T:
    return rng.choices([value for value, _ in weighted], [weight for _, weight in weighted])[0]
