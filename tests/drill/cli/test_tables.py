"""Text blocks and tables in the terminal."""

import pytest

from drill.cli.tables import print_blocks, print_table
from drill.core.text_blocks import Passage, Table


def test_numbers_are_right_aligned_and_words_left_aligned(
    capsys: pytest.CaptureFixture[str],
) -> None:
    table = Table(
        caption="",
        head=("", "x50", "calls"),
        rows=(("steady", "-1.0 dB", "9 of 30"), ("fog", "+12.0 dB", ""), ("", "3", "12 of 30")),
    )
    print_table(table)
    assert capsys.readouterr().out.splitlines() == [
        "               x50     calls",
        "  steady   -1.0 dB   9 of 30",
        "  fog     +12.0 dB",
        "                 3  12 of 30",
    ]


def test_blocks_are_separated_by_an_empty_line(capsys: pytest.CaptureFixture[str]) -> None:
    table = Table(caption="", head=("a",), rows=(("1",),))
    print_blocks(
        [
            Passage(title="First", figures=("figure",), table=table, sentences=("sentence",)),
            Passage(sentences=("second",)),
        ]
    )
    assert capsys.readouterr().out.splitlines() == [
        "",
        "First:",
        "  figure",
        "",
        "  a",
        "  1",
        "sentence",
        "",
        "second",
    ]
