"""Contrast of the pages' colours by WCAG 2.2: text 4.5:1 (1.4.3), borders and focus 3:1 (1.4.11).

Relative luminance and contrast ratio are those of WCAG 2.2's glossary. The formula is checked with
WCAG's own example (black on white, 21:1) and #777777 on white (4.48:1, from technique G18 of the
working group).
"""

import re
from importlib.resources import files

import pytest

STYLE = files("drill.web").joinpath("static", "tokens.css").read_text("utf-8")
TOKENS = {
    name: (light, dark)
    for name, light, dark in re.findall(
        r"--([\w-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\);", STYLE
    )
}
"""The light and the dark colour of every token."""
BACKGROUNDS = ("ground", "raised", "sunk")
TEXT_PAIRS = [
    *(
        (text, background)
        for text in ("ink", "soft", "accent", "right", "wrong")
        for background in BACKGROUNDS
    ),
    ("on-accent", "accent"),
    ("on-accent", "accent-deep"),
    ("on-notice", "notice"),
]
EDGE_PAIRS = [
    *((edge, background) for edge in ("edge", "focus") for background in ("ground", "raised")),
    ("focus", "notice"),
    ("chart-second", "raised"),
]


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
    ("pairs", "minimum"), [(TEXT_PAIRS, 4.5), (EDGE_PAIRS, 3.0)], ids=["text", "edges"]
)
def test_every_pair_of_colours_has_enough_contrast(
    pairs: list[tuple[str, str]], minimum: float, scheme: int
) -> None:
    ratios = {pair: contrast(*(TOKENS[name][scheme] for name in pair)) for pair in pairs}
    assert {pair: round(ratio, 2) for pair, ratio in ratios.items() if ratio < minimum} == {}
