"""Turns request bodies into checked values; drill.core.validation checks the single fields."""

from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from drill.core.structuring import from_data
from drill.core.validation import checked_list, checked_table, checked_text, json_value
from drill.session.options import SessionOptions

MAX_TEXT = 500
"""Largest number of characters of a text in a request."""
MAX_NAMES = 100
"""Largest number of entries of a list in a request."""
short_text = partial(checked_text, longest=MAX_TEXT)
short_list = partial(checked_list, check=short_text, most=MAX_NAMES)
"""Checks for drill.core.validation.checked_entries."""


def json_object(body: bytes) -> dict[str, Any]:
    """Return the JSON object of a request's body. Raises: UserError for any other content."""
    return dict(checked_table("", json_value(body), label="the request"))


def session_options(data: Mapping[str, Any], *, null_is_noiseless: bool = True) -> SessionOptions:
    """Return the options of a session's form.

    null_is_noiseless: whether "snr_db": null means a path without noise; otherwise, and for every
    other entry, null counts as missing. Raises: UserError.
    """
    given = {name: value for name, value in data.items() if value is not None}
    options = from_data(SessionOptions, given)
    noiseless = "snr_db" in data and data["snr_db"] is None and options.watts is None
    return replace(options, no_noise=True) if noiseless and null_is_noiseless else options
