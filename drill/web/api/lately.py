"""/api/lately: the part of the record that the start page shows."""

from datetime import UTC, datetime
from typing import Any

from drill.core.structuring import to_data
from drill.report.lately import lately
from drill.web.database import open_record


def lately_json() -> dict[str, Any]:
    """Return the fields of Lately."""
    with open_record() as store:
        data: dict[str, Any] = to_data(lately(store, now=datetime.now(UTC).astimezone()))
    return data
