"""/api/machine-copies: a recogniser copies the items of measurements and comparisons.

A request works for a short time and returns the amount left, so that the page can show progress and
stop; the server keeps nothing in memory.
"""

import threading
import time
from typing import Any

from drill.session.machine import copy_items, items_to_copy, machine_recogniser
from drill.web.database import open_record

REQUEST_S = 1.5
"""Time for which one request copies."""
_lock = threading.Lock()  # without the lock, a second window would copy the same items


def copy_for_a_while() -> dict[str, Any]:
    """Copy items for REQUEST_S, at least one.

    Return the numbers of items left, and of items left out because their voice is not installed.
    "left" is 0 if only such items remain.

    Raises: NoRecogniser; UserError if the record is damaged.
    """
    with _lock, open_record() as store:
        recogniser = machine_recogniser()
        items = items_to_copy(store, recogniser)
        until = time.monotonic() + REQUEST_S
        copied = without_voice = 0
        for entry in copy_items(store, items, recogniser):
            copied += entry is not None
            without_voice += entry is None
            if copied and time.monotonic() > until:
                break
        left = len(items) - copied - without_voice
        return {"copied": copied, "left": left, "without_voice": without_voice}
