"""What a sitting told, printed: sentences, and tables in columns."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drill.core.text_blocks import Passage, Table


def print_passages(passages: "Iterable[Passage]") -> None:
    """Print passages, an empty line before each."""
    for passage in passages:
        print(f"\n{passage.title}:" if passage.title else "")
        for line in passage.figures:
            print(f"  {line}")
        if passage.table is not None:
            if passage.figures:
                print()
            print_table(passage.table)
        for sentence in passage.sentences:
            print(sentence)


def print_table(table: "Table") -> None:
    """Print a table; the first column of names stands left, figures stand right."""
    rows = (table.head, *table.rows)
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    left = not table.head[0]
    for row in rows:
        cells = [
            f"{cell:<{width}}" if left else f"{cell:>{width}}"
            for cell, width in zip(row, widths, strict=True)
        ]
        print(f"  {'  '.join(cells)}".rstrip())
