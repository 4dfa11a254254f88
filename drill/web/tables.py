"""Tables as data for JSON."""

from typing import Any

from drill.core.text_blocks import Table


def table_json(table: Table) -> dict[str, Any]:
    """Return a table as data for JSON; runs of spaces, which align columns, become one."""
    rows = [[" ".join(cell.split()) for cell in row] for row in table.rows]
    return {"caption": table.caption, "head": list(table.head), "rows": rows}
