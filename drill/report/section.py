"""One section of a report."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drill.core.text_blocks import Table

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, kw_only=True, eq=False)
class Section:
    """One section of a report; name: short identifier, also of its files."""

    name: str
    heading: str
    sentences: tuple[str, ...]
    table: Table | None = None
    chart: "Figure | None" = None
