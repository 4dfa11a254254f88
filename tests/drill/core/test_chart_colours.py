"""The colours of charts are those of the page in its light scheme."""

import re
from importlib.resources import files

import pytest

from drill.core import chart_colours

TOKENS = files("drill.web").joinpath("static", "tokens.css").read_text("utf-8")


@pytest.mark.parametrize("name", ["ground", "ink", "first", "second", "soft", "rule"])
def test_each_colour_is_that_of_the_page(name: str) -> None:
    token = re.search(rf"--chart-{name}: var\((--[\w-]+)\);", TOKENS)
    assert token
    light = re.search(rf"{token[1]}: light-dark\((#[0-9a-f]{{6}}),", TOKENS)
    assert light
    assert getattr(chart_colours, f"CHART_{name.upper()}") == light[1]
