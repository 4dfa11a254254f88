"""Over style: an operator's habits in wording an over.

Shares are from 0 to 1. The habits and their frequencies are common practice, no source; the figure
words are those of `numerals`.
"""

from dataclasses import dataclass
from random import Random
from typing import TypeVar

T = TypeVar("T")

ZERO_WORDS = ("zero", "oh")
FIGURE_STYLES = ("plain", "icao", "itu")
STROKE_STYLES = ("stroke", "slash", "portable")


@dataclass(frozen=True, kw_only=True, slots=True)
class OverStyle:
    """How an operator words one over.

    alternates: share of letters spoken with a word other than that of Appendix 14.
    zero: "zero" or "oh". figures: "plain", "icao" (tree, fower, fife, niner) or "itu" (nadazero).
    pairs: "one twenty-six" for 126. doubles: "double five" for 55, if digits are spoken one by one.
    drop_zeros: "fourteen" or "one four" for 014. number_word: "number" before a serial number.
    labels: names the value ("zone five", "age fifty"). run_on: no pause after the report.
    repeat_call: gives its own call twice. chatty: 0 favours terse templates, 1 wordy ones.
    stroke: "stroke", "slash", or "portable" (the meaning of /P, /M, /MM; otherwise "stroke").
    words: the alternates that the operator always uses; the word for any other letter may vary.
    hesitates: share of pauses between fields that contain an "er".

    Raises: ValueError for a value that is not allowed.
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
        """Check the value of every habit."""
        for name, allowed in (
            ("zero", ZERO_WORDS),
            ("figures", FIGURE_STYLES),
            ("stroke", STROKE_STYLES),
        ):
            value = getattr(self, name)
            if value not in allowed:
                raise ValueError(f"{name} {value!r} is unknown; use one of {', '.join(allowed)}")
        for name in ("alternates", "chatty", "hesitates"):
            share = getattr(self, name)
            if not 0.0 <= share <= 1.0:
                raise ValueError(f"{name} {share} is not a share from 0 to 1")


PLAIN_OVER_STYLE = OverStyle()

_ALTERNATES = ((0.0, 50), (0.15, 25), (0.5, 15), (0.9, 10))
_FIGURES = (("plain", 80), ("icao", 19), ("itu", 1))
_STROKES = (("stroke", 45), ("slash", 30), ("portable", 25))


def draw_over_style(
    rng: Random, *, alternates: float | None = None, plain: bool = False
) -> OverStyle:
    """Return an over style drawn from rng.

    alternates: the share to use, 0 to 1; None draws it. plain: Appendix 14 words, every digit
    spoken, no other habits (`alternates` still applies).

    Raises: ValueError if alternates is not a share.
    """
    if plain:
        return OverStyle(alternates=alternates or 0.0)
    share = _pick(rng, _ALTERNATES)
    return OverStyle(
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
