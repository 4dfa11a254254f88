"""Translates SQLite's errors into errors for the user: the problem and its remedy."""

import errno
import shutil
import sqlite3
from pathlib import Path

from drill.core.errors import FaintcallError, ResourceUnavailable, UserError

LEAST_FREE_BYTES = 1_000_000
"""With less free space than this, SQLite may report an input/output error instead of a full
disk."""


class RecordUnavailable(ResourceUnavailable):
    """The record cannot be read or written at the moment; its contents are unchanged.

    kind: "full", "read_only", "locked" or "io" (the disk reported an error).
    """

    def __init__(self, message: str, *, kind: str = "io") -> None:
        """Store the message for the user, and the kind for the program."""
        super().__init__(message)
        self.kind = kind


def record_error(path: Path, error: sqlite3.Error) -> FaintcallError:
    """Return SQLite's error about the record `path` as an error for the user.

    The result is RecordUnavailable if the record itself is intact, and UserError if it is damaged
    or is not a record.
    Source: SQLite documentation, Result and Error Codes.
    """
    name = getattr(error, "sqlite_errorname", None) or "SQLITE_CORRUPT"
    code = "_".join(name.split("_")[:2])  # extended codes have a third part: SQLITE_IOERR_WRITE
    if code == "SQLITE_IOERR" and _disk_is_full(path):
        code = "SQLITE_FULL"
    if code in _UNAVAILABLE:
        kind, problem = _UNAVAILABLE[code]
        return RecordUnavailable(problem.format(path=path, error=error), kind=kind)
    problem = "is not an SQLite file" if code == "SQLITE_NOTADB" else f"is damaged ({error})"
    return UserError(
        f"the record {path} cannot be used: it {problem}; put a backup in its place, or move it "
        "away to start a new one",
        kind="damaged",
    )


_WRITABLE = (
    "allow writing to this file and its folder, or set FAINTCALL_HOME to another folder to start "
    "another record there"
)
_FULL = (
    "the disk with the record {path} is full; free some space and try again. Everything saved so "
    "far is kept"
)
_LOCKED = (
    "another program has locked the record {path}; close that program, or wait until it has "
    "finished, and try again"
)
_UNAVAILABLE = {
    "SQLITE_FULL": ("full", _FULL),
    "SQLITE_READONLY": ("read_only", "the record {path} is read-only; " + _WRITABLE),
    "SQLITE_PERM": ("read_only", "the record {path} is read-only; " + _WRITABLE),
    "SQLITE_CANTOPEN": ("read_only", f"the record {{path}} cannot be opened; {_WRITABLE}"),
    "SQLITE_BUSY": ("locked", _LOCKED),
    "SQLITE_LOCKED": ("locked", _LOCKED),
    "SQLITE_IOERR": (
        "io",
        "the disk with the record {path} reported an error ({error}); check that the disk is "
        "connected and try again",
    ),
    "SQLITE_NOMEM": ("io", "not enough memory to use the record {path}; close other programs"),
    "SQLITE_INTERRUPT": ("io", "reading the record {path} was interrupted; try again"),
}
"""Kind and message for each primary error code of SQLite."""


def file_error(path: Path, error: OSError) -> FaintcallError:
    """Return the error for the user if the record's file or folder could not be created.

    The result is RecordUnavailable if the disk is full or not writable, UserError if the path is
    wrong.
    """
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return RecordUnavailable(_FULL.format(path=path), kind="full")
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return RecordUnavailable(
            f"the record {path} cannot be created; {_WRITABLE}", kind="read_only"
        )
    return UserError(
        f"the record {path} cannot be opened: {error.strerror}; set FAINTCALL_HOME to a folder"
    )


def damaged_data(path: Path, place: str, problem: UserError) -> UserError:
    """Return the error about stored data that faintcall cannot have written.

    place: such as "session 0123abcd". problem: the fault in the data there.
    """
    return UserError(
        f"the record {path} is damaged in {place} ({problem}); put a backup in its place, or move "
        "it away to start a new one",
        field=problem.field,
        kind="damaged",
    )


def _disk_is_full(path: Path) -> bool:
    try:
        return shutil.disk_usage(path.parent).free < LEAST_FREE_BYTES
    except OSError:
        return False
