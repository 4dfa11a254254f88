"""Blocks of text that report a result; each screen lays them out in its own way."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """A table in words."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Passage:
    """A stretch of what is told: its title, the figures, a table, and what follows from them."""

    title: str = ""
    figures: tuple[str, ...] = ()
    table: Table | None = None
    sentences: tuple[str, ...] = ()
