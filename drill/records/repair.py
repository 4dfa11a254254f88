"""Repairs data that earlier versions stored wrongly."""

import json
from typing import Any

from drill.core.unicode_text import replace_surrogates


def repaired_json(text: str | bytes) -> str | bytes:
    """Return a JSON text without unpaired surrogates; U+FFFD replaces them.

    A text that is not JSON is returned unchanged.
    """
    try:
        return json.dumps(without_surrogates(json.loads(text)))
    except (ValueError, RecursionError):
        return text


def without_surrogates(value: Any) -> Any:
    """Return plain data in which U+FFFD replaces every unpaired surrogate, also in keys."""
    if isinstance(value, str):
        return replace_surrogates(value)
    if isinstance(value, list):
        return [without_surrogates(entry) for entry in value]
    if isinstance(value, dict):
        return {replace_surrogates(key): without_surrogates(entry) for key, entry in value.items()}
    return value
