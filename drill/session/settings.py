"""The user's settings, kept in the record: for each its default, its description and its check."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import partial
from typing import Any

from drill.core.errors import UserError
from drill.core.validation import Check, checked_table, json_value, known_keys, one_of, within
from drill.records.store import Store
from drill.session.kinds import registered_kinds
from drill.session.options import SessionOptions

MAX_JSON_CHARACTERS = 8000
"""Longest JSON text of one setting."""
FORM_FIELDS = tuple(field.name for field in fields(SessionOptions))
"""Most entries in the form that begins a session."""


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One setting.

    check: returns the value to store or raises UserError. stored_name: name of the setting in the
    record, "" for the same name.
    """

    default: Any
    description: str
    check: Check
    stored_name: str = ""


def _session_form(field: str, value: Any) -> Mapping[str, Any] | None:
    if value is None:
        return None
    form = checked_table(field, value)
    known_keys(form, FORM_FIELDS, field)
    return form


_PAGE_SETTINGS: Mapping[str, Setting] = {
    "volume": Setting(
        default=0.5,
        description="volume of the page's sounds, 0 to 1",
        check=partial(within, low=0, high=1),
    ),
    "scheme": Setting(
        default="system",
        description="colours: those of the system, light or dark",
        check=partial(one_of, allowed=("system", "light", "dark")),
    ),
    "auto_next_s": Setting(
        default=0.0,
        description="seconds after an answer until the next item starts by itself, 0 for never",
        check=partial(within, low=0, high=60),
    ),
    "speech_gap_s": Setting(
        default=2.5,
        description="seconds between an announcement and the next sound, so that a screen reader "
        "does not talk over it",
        check=partial(within, low=0, high=10),
    ),
    "speech_side": Setting(
        default="both",
        description="the ear that hears the drill; a screen reader can then use the other ear",
        check=partial(one_of, allowed=("both", "left", "right")),
    ),
}


def last_form_name(kind: str) -> str:
    """Return the name of the setting that holds the last form of a kind of session."""
    return f"last_{kind}"


def known_settings() -> dict[str, Setting]:
    """Return all settings by name: those of the page, and the last form of each kind of session."""
    return {
        **_PAGE_SETTINGS,
        **{
            last_form_name(kind.name): Setting(
                default=None,
                description=f"form of the last session of the kind {kind.name!r}",
                check=_session_form,
                stored_name=last_form_name(kind.stored_name),
            )
            for kind in registered_kinds()
        },
    }


def setting_values(store: Store) -> dict[str, Any]:
    """Return the values of all settings by name.

    A setting that was never set, or whose stored value cannot be used, has its default.
    """
    return {
        name: _stored_value(store, setting.stored_name or name, setting)
        for name, setting in known_settings().items()
    }


def _stored_value(store: Store, stored_name: str, setting: Setting) -> Any:
    text = store.setting(stored_name)
    if text is None:
        return setting.default
    try:
        return setting.check(stored_name, json_value(text))
    except UserError:
        return setting.default


def change_settings(store: Store, values: Mapping[str, Any]) -> None:
    """Store new values of some settings, all of them or none.

    Raises: UserError that names the setting, its value and what is allowed.
    """
    settings = known_settings()
    known_keys(values, settings)
    texts = {}
    for name, value in values.items():
        text = json.dumps(settings[name].check(name, value))
        if len(text) > MAX_JSON_CHARACTERS:
            raise UserError(
                f"{name} takes {len(text)} characters as JSON; at most {MAX_JSON_CHARACTERS} fit",
                field=name,
                kind="too_long",
            )
        texts[settings[name].stored_name or name] = text
    for stored_name, text in texts.items():
        store.set_setting(stored_name, text)
