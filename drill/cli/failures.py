"""Turns an error of a command into one line and an exit code."""

import errno
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from drill.core.errors import FaintcallError, NoSoundCard, UserError
from drill.core.packages import missing_package

DISK_FULL = (errno.ENOSPC, errno.EDQUOT)


@dataclass(frozen=True, kw_only=True, slots=True)
class Failure:
    """The line to print, and the exit code: 1 if this computer lacks something, 2 for bad input."""

    message: str
    status: int


def describe_failure(error: Exception, options: Mapping[str, Any]) -> Failure | None:
    """Return the failure to report, None if the error is a bug of faintcall.

    options: the parsed options of the command, by name.
    """
    if isinstance(error, UserError):
        return Failure(message=f"{error}{_option(error.field, options)}", status=2)
    if isinstance(error, NoSoundCard):
        files = "write each item to a file with --audio-to DIR"
        message = error.message_or(files) if "audio_to" in options else str(error)
        return Failure(message=message, status=1)
    if isinstance(error, FaintcallError):
        return Failure(message=str(error), status=1)
    if isinstance(error, EOFError):
        message = "the input ended before the command was finished; run it in a terminal"
        return Failure(message=message, status=2)
    if isinstance(error, ImportError):
        missing = missing_package(error)
        return None if missing is None else Failure(message=str(missing), status=1)
    return _system_failure(error) if isinstance(error, OSError) else None


def _option(field: str, options: Mapping[str, Any]) -> str:
    """Return text such as " (option --snr)" if an option had the wrong value, else ""."""
    from drill.cli.options import flag_for_field  # slow to import

    flag = flag_for_field(field, options) if field else ""
    return f" (option {flag})" if flag else ""


def _system_failure(error: OSError) -> Failure:
    reason = error.strerror or str(error) or type(error).__name__
    if error.errno in DISK_FULL:
        place = error.filename or "the output"
        message = f"{place} cannot be written: the disk is full; free some space and try again"
        return Failure(message=message, status=1)
    if error.filename is None:
        return Failure(message=f"the operating system reports: {reason}", status=1)
    return Failure(message=f"{error.filename} cannot be used: {reason}", status=2)
