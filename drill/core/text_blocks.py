"""Text blocks that present a result; each screen lays them out in its own way."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """A table of text: caption, column headings, and rows with one cell per heading."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Passage:
    """A section of a result: title, lines with figures, a table, and explanatory sentences."""

    title: str = ""
    figures: tuple[str, ...] = ()
    table: Table | None = None
    sentences: tuple[str, ...] = ()
