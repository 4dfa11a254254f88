"""The record, opened for one request."""

from collections.abc import Iterator
from contextlib import contextmanager

from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.records.store import Store


class NotFoundError(UserError):
    """A session, sound or take that does not exist; answered with status 404."""


@contextmanager
def open_record() -> Iterator[Store]:
    """Open the record for one request.

    Raises: UserError if the file is damaged or not a record; RecordUnavailable, answered with
    status 503, if it cannot be read or written at the moment, for example because the disk is full.
    """
    with Store(record_file()) as store:
        yield store
