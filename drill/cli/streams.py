"""Makes the standard streams safe: closed streams, invalid bytes and missing characters."""

import io
import os
import sys
from contextlib import suppress
from pathlib import Path


def prepare_streams() -> None:
    """Make the standard streams usable, whatever state the caller left them in.

    A closed stream is replaced by the null device; otherwise the next file that is opened, such as
    the record, would take its place. Bytes that are invalid in the terminal's encoding are read as
    U+FFFD, and characters that the encoding lacks are written as "?".
    """
    for descriptor, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
        try:
            os.fstat(descriptor)
        except OSError:
            with suppress(OSError):
                # open() takes the lowest free descriptor, which is the closed one.
                os.open(os.devnull, os.O_RDWR)
        if getattr(sys, name) is None:
            # It stays open until the process ends, like the standard streams.
            setattr(sys, name, Path(os.devnull).open(mode, encoding="utf-8"))  # noqa: SIM115
        stream = getattr(sys, name)
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def discard_output() -> None:
    """Redirect standard output to the null device.

    After a failed write, Python would try again at its exit and report that failure too.
    """
    with suppress(OSError, ValueError):  # ValueError: not a file, as in tests
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
