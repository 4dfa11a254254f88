"""/api/cautions: the cautions that the user has confirmed."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from drill.core.validation import checked_entries, checked_flag
from drill.web.database import open_record

HEARING = "hearing"


def cautions_json() -> dict[str, bool]:
    """Return whether the caution about hearing was confirmed."""
    with open_record() as store:
        return {HEARING: store.has_seen(HEARING)}


def confirm_cautions(data: Mapping[str, Any]) -> dict[str, bool]:
    """Store the cautions that data marks true as confirmed; return cautions_json().

    Raises: UserError.
    """
    entries = checked_entries(data, {HEARING: checked_flag})
    with open_record() as store:
        if entries.get(HEARING):
            store.set_seen(HEARING, now=datetime.now(UTC))
    return cautions_json()
