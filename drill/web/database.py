"""The record, opened for one request."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from drill.core.errors import ResourceUnavailable, UserError
from drill.core.paths import record_file
from drill.records.store import Store


class NotFoundError(UserError):
    """A session, sound or take that does not exist; answered with status 404."""


class RecordUnavailable(ResourceUnavailable):
    """The record cannot be read or written at the moment; answered with status 503."""


@contextmanager
def open_record() -> Iterator[Store]:
    """Open the record for one request.

    Raises: UserError if the file is not a record, RecordUnavailable if SQLite fails, for example
    because another program has locked the file or the disk is full.
    """
    try:
        with Store(record_file()) as store:
            yield store
    except sqlite3.Error as error:
        raise RecordUnavailable(
            f"the record {record_file()} cannot be used at the moment ({error}); try again, and "
            "check that the disk has free space"
        ) from None
