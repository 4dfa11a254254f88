"""Prints text blocks in the terminal: lines of text, and tables in columns."""

import re
from collections.abc import Iterable, Sequence

from drill.cli.wrapping import print_text
from drill.core.text_blocks import Passage, Table


def print_blocks(blocks: Iterable[Passage]) -> None:
    """Print text blocks, with an empty line before each."""
    for block in blocks:
        print(f"\n{block.title}:" if block.title else "")
        for line in block.figures:
            print_text(f"  {line}")
        if block.table is not None:
            if block.figures:
                print()
            print_table(block.table)
        for sentence in block.sentences:
            print_text(sentence)


def print_table(table: Table) -> None:
    """Print a table: columns of numbers right-aligned, columns of words left-aligned."""
    columns = list(zip(table.head, *table.rows, strict=True))
    widths = [max(map(len, column)) for column in columns]
    aligns = [str.rjust if _is_numeric(column[1:]) else str.ljust for column in columns]
    for row in (table.head, *table.rows):
        cells = [align(cell, width) for cell, width, align in zip(row, widths, aligns, strict=True)]
        print(f"  {'  '.join(cells)}".rstrip())


def _is_numeric(cells: Sequence[str]) -> bool:
    """Return True if all cells that are not empty start with a number, such as "+1.5 dB"."""
    return all(re.match(r"\s*([+-]?\d|$)", cell) for cell in cells)
