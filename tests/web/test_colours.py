"""Contrast of the pages' colours by WCAG 2.2: text 4.5:1 (1.4.3), borders and focus 3:1 (1.4.11).

Relative luminance and contrast ratio are those of WCAG 2.2's glossary. The formula is checked with
WCAG's own example (black on white, 21:1) and #777777 on white (4.48:1, from technique G18 of the
working group).
"""

import re
from importlib.resources import files

import pytest

STYLE = files("drill.web").joinpath("static", "tokens.css").read_text("utf-8")


def read_tokens(block: str) -> dict[str, tuple[str, str]]:
    """Return the light and the dark colour of every token that a block of the style sheet sets."""
    return {
        name: (light or both, dark or both)
        for name, light, dark, both in re.findall(
            r"--([\w-]+): (?:light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\)|(#[0-9a-f]{6}));", block
        )
    }


TOKENS = read_tokens(STYLE[: STYLE.index(".night,")])
_sending = STYLE[STYLE.index(".sending {") :]
NIGHT_TOKENS = {
    **TOKENS,
    **dict.fromkeys(("ground", "raised"), TOKENS["night"]),
    "ink": TOKENS["on-night"],
    "soft": TOKENS["night-soft"],
    "edge": TOKENS["night-soft"],
    **read_tokens(_sending[: _sending.index("}")]),
}
"""The colours of the evening and while the trainee transmits: .night and .sending."""
TEXT_PAIRS = [
    *(
        (text, background)
        for text in ("ink", "soft", "sea", "berry")
        for background in ("ground", "raised", "sunk")
    ),
    ("on-lamp", "lamp"),
    ("on-sea", "sea"),
    ("ink", "sea-pale"),
    ("berry", "berry-pale"),
]
NIGHT_TEXT_PAIRS = [
    *((text, "ground") for text in ("ink", "soft", "sea", "berry")),
    *((text, hill) for text in ("ink", "soft") for hill in ("hill", "hill-far")),
    ("on-lamp", "lamp"),
    ("lamp", "ground"),
]
EDGE_PAIRS = [
    *(
        (edge, background)
        for edge in ("edge", "focus", "sea", "berry", "lamp-deep")
        for background in ("ground", "raised")
    ),
    ("focus", "sunk"),
]
NIGHT_EDGE_PAIRS = [(edge, "ground") for edge in ("edge", "focus", "sea", "berry", "lamp")]


def luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb, 0 to 1."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21."""
    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_formula_gives_the_published_examples() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize(
    ("tokens", "pairs", "minimum"),
    [
        pytest.param(TOKENS, TEXT_PAIRS, 4.5, id="text"),
        pytest.param(TOKENS, EDGE_PAIRS, 3.0, id="edges"),
        pytest.param(NIGHT_TOKENS, NIGHT_TEXT_PAIRS, 4.5, id="text, night"),
        pytest.param(NIGHT_TOKENS, NIGHT_EDGE_PAIRS, 3.0, id="edges, night"),
    ],
)
def test_every_pair_of_colours_has_enough_contrast(
    tokens: dict[str, tuple[str, str]],
    pairs: list[tuple[str, str]],
    minimum: float,
    scheme: int,
) -> None:
    ratios = {pair: contrast(*(tokens[name][scheme] for name in pair)) for pair in pairs}
    assert {pair: round(ratio, 2) for pair, ratio in ratios.items() if ratio < minimum} == {}


STATED = {
    ("ink", "ground"): (15.4, 15.3),
    ("soft", "ground"): (6.9, 9.3),
    ("soft", "sunk"): (6.2, 9.9),
    ("edge", "ground"): (4.2, 5.1),
    ("edge", "raised"): (4.5, 4.6),
    ("line", "ground"): (1.4, 1.7),
    ("on-lamp", "lamp"): (9.8, 10.8),
    ("lamp", "night"): (7.5, 9.0),
    ("lamp-deep", "ground"): (6.6, 5.0),
    ("sea", "ground"): (7.1, 10.8),
    ("sea-pale", "ground"): (1.4, 2.1),
    ("berry", "ground"): (6.8, 9.3),
    ("berry", "berry-pale"): (5.8, 7.1),
    ("focus", "ground"): (6.7, 10.6),
    ("on-night", "night"): (11.9, 13.0),
    ("night-soft", "night"): (8.4, 9.1),
    ("night-soft", "hill-far"): (6.6, 7.7),
}
"""The contrasts that the design states for light and dark, computed independently of this test."""


@pytest.mark.parametrize("pair", STATED, ids=" on ".join)
def test_contrasts_of_the_design_are_those_stated(pair: tuple[str, str]) -> None:
    first, second = pair
    ratios = tuple(contrast(TOKENS[first][n], TOKENS[second][n]) for n in (0, 1))
    assert ratios == pytest.approx(STATED[pair], abs=0.06)


def test_the_focus_is_visible_at_night() -> None:
    """The design states 7.8 and 8.6 to 1 for the ring on the night of light and dark."""
    ratios = [contrast(NIGHT_TOKENS["focus"][n], TOKENS["night"][n]) for n in (0, 1)]
    assert ratios == pytest.approx([7.8, 8.6], abs=0.06)
