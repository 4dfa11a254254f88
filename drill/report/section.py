"""One section of a report."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drill.core.text_blocks import Table
from drill.report.pictures import Picture

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, kw_only=True, eq=False)
class Section:
    """One section of a report; name: short identifier, also of its files.

    picture: what the page draws. draw_chart: draws the chart of the files, which is slow. Both are
    None without data. missing: what the section lacks, "" if it has enough data.
    """

    name: str
    heading: str
    sentences: tuple[str, ...]
    table: Table | None = None
    picture: Picture | None = None
    draw_chart: "Callable[[], Figure] | None" = None
    missing: str = ""


def report_table(
    caption: str, head: Sequence[str], rows: Sequence[tuple[str, ...]]
) -> Table | None:
    """Return a table of a section, None if it has no rows."""
    return Table(caption=caption, head=tuple(head), rows=tuple(rows)) if rows else None
