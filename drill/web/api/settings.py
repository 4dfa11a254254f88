"""/api/settings: the user's settings."""

from collections.abc import Mapping
from typing import Any

from drill.core.validation import checked_entries, checked_table
from drill.session.settings import change_settings, known_settings, setting_values
from drill.web.database import open_record


def settings_json() -> dict[str, Any]:
    """Return the value and the description of every setting."""
    with open_record() as store:
        return {
            "values": setting_values(store),
            "says": {name: setting.description for name, setting in known_settings().items()},
        }


def save_settings(data: Mapping[str, Any]) -> dict[str, Any]:
    """Store the settings in data["values"], all or none; return settings_json().

    Raises: UserError with the setting's name as field.
    """
    entries = checked_entries(data, {"values": checked_table}, required=["values"])
    with open_record() as store:
        change_settings(store, entries["values"])
    return settings_json()
