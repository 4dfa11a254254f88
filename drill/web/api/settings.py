"""The user's own: settings, and which cautions were read."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from drill.session import settings
from drill.web import request_fields
from drill.web.database import record

HEARING = "hearing"


def settings_told() -> dict[str, Any]:
    """Return every setting and what it says."""
    with record() as store:
        return {
            "values": settings.values(store),
            "says": {name: one.says for name, one in settings.SETTINGS.items()},
        }


def set_values(data: Mapping[str, Any]) -> dict[str, Any]:
    """Keep settings; return all of them. Raises: UserError naming the setting."""
    found = request_fields.take(data, {"values": request_fields.table})
    request_fields.needed(found, "values")
    with record() as store:
        settings.change(store, found["values"])
    return settings_told()


def cautions() -> dict[str, bool]:
    """Return which cautions were read."""
    with record() as store:
        return {HEARING: store.has_seen(HEARING)}


def confirm(data: Mapping[str, Any]) -> dict[str, bool]:
    """Keep that a caution was read. Raises: UserError."""
    found = request_fields.take(data, {HEARING: request_fields.truth})
    with record() as store:
        if found.get(HEARING):
            store.set_seen(HEARING, now=datetime.now(UTC))
    return cautions()
