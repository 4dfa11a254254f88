"""The record, opened for one request."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from drill.core.errors import ResourceUnavailable, UserError
from drill.core.paths import record_file
from drill.records.store import Store


class Unknown(UserError):
    """Something that is asked for by name and is not there."""


class RecordBusy(ResourceUnavailable):
    """The record cannot be read or written now."""


@contextmanager
def record() -> Iterator[Store]:
    """Open the record for one request. Raises: UserError, RecordBusy."""
    try:
        with Store(record_file()) as store:
            yield store
    except sqlite3.Error as error:
        raise RecordBusy(
            f"the record {record_file()} cannot be used now ({error}); try again, and see that the "
            "disk has room"
        ) from None
