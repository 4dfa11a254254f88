"""The user's settings: each with its values, its default and a sentence; kept in the record."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Any

from drill.core.errors import UserError
from drill.records.store import Store
from drill.session.options import KINDS, Choices

MOST_TEXT = 8000
"""Characters of JSON that one setting may take."""
FORM = (*(field.name for field in fields(Choices)), "until_db", "compare")
"""What a form of a sitting may hold."""


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One setting. allowed: raises UserError, or returns the value to keep."""

    default: Any
    says: str
    allowed: Callable[[str, Any], Any]


def _within(low: float, high: float) -> Callable[[str, Any], float]:
    def check(name: str, value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise UserError(f"{name} has to be a number from {low:g} to {high:g}")
        if not low <= value <= high:
            raise UserError(f"{name} {value:g} is out of range; allowed are {low:g} to {high:g}")
        return float(value)

    return check


def _one_of(*choices: str) -> Callable[[str, Any], str]:
    def check(name: str, value: Any) -> str:
        if not isinstance(value, str) or value not in choices:
            raise UserError(f"{name} {value!r:.60} is unknown; choose one of {', '.join(choices)}")
        return value

    return check


def _form(name: str, value: Any) -> dict[str, Any] | None:
    if value is not None and not isinstance(value, dict):
        raise UserError(f"{name} has to be the choices of a sitting, or null")
    for key in value or ():
        if key not in FORM:
            raise UserError(f"{name}: {key!r:.60} is no choice; there are {', '.join(FORM)}")
    return value


SETTINGS: Mapping[str, Setting] = {
    "volume": Setting(
        default=0.5, says="volume of the page's sounds, 0 to 1", allowed=_within(0, 1)
    ),
    "scheme": Setting(
        default="system",
        says="colours: as the system has them, light or dark",
        allowed=_one_of("system", "light", "dark"),
    ),
    "auto_next_s": Setting(
        default=0.0,
        says="seconds after an answer until the next item starts by itself, 0 for never",
        allowed=_within(0, 60),
    ),
    "speech_side": Setting(
        default="both",
        says="the ear that hears the drill, so that the other is free for a screen reader",
        allowed=_one_of("both", "left", "right"),
    ),
} | {
    f"last_{kind}": Setting(
        default=None, says=f"the choices of the last sitting of the kind {kind}", allowed=_form
    )
    for kind in KINDS
}


def values(store: Store) -> dict[str, Any]:
    """Return all settings by name; what was never set, or cannot be read, is as by default."""
    return {name: _kept(store, name, setting) for name, setting in SETTINGS.items()}


def _kept(store: Store, name: str, setting: Setting) -> Any:
    text = store.setting(name)
    if text is None:
        return setting.default
    try:
        return setting.allowed(name, json.loads(text))
    except (ValueError, UserError, RecursionError):
        return setting.default


def change(store: Store, new: Mapping[str, Any]) -> None:
    """Keep these settings, all or none of them. Raises: UserError naming the setting."""
    texts = {}
    for name, value in new.items():
        if name not in SETTINGS:
            raise UserError(f"{name!r:.60} is no setting; there are {', '.join(SETTINGS)}")
        texts[name] = json.dumps(SETTINGS[name].allowed(name, value))
        if len(texts[name]) > MOST_TEXT:
            raise UserError(f"{name} is too long; at most {MOST_TEXT} characters are kept")
    for name, text in texts.items():
        store.set_setting(name, text)
