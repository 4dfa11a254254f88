"""Keeps a worker script running that answers each request in a forked child (POSIX only).

A fork takes a fraction of the time that a Python interpreter takes to start, and the child is as
clean as a new process, because the server itself never uses the speech library. The script is
started with the argument `--serve`. It then reads one JSON object a line and writes the length of
each answer (8 bytes, big-endian) and the answer. The server has no threads, so it can fork safely
whatever the calling process does.
"""

import atexit
import os
import selectors
import subprocess
import threading
import time
from contextlib import suppress
from functools import cache

_LENGTH_BYTES = 8
_CLOSE_TIMEOUT_S = 2.0


class WorkerTimeout(Exception):
    """The worker took too long; it has been killed."""


def answer_in_fork(command: tuple[str, ...], line: bytes, timeout_s: float) -> bytes | None:
    """Return the answer to a request, None if there is no server to answer it.

    command: interpreter, flags and script. Each calling process has one server for each command.
    Thread-safe: the server answers one request at a time.

    Raises: WorkerTimeout after timeout_s seconds.
    """
    return _server_of_process(os.getpid(), command).answer(line, timeout_s)


@cache
def _server_of_process(process_id: int, command: tuple[str, ...]) -> "_WorkerServer":
    """Return this process's server. A forked process must not share its parent's pipes."""
    server = _WorkerServer(command)
    atexit.register(server.close)
    return server


class _WorkerServer:
    """The server process of a worker script, started at the first request."""

    def __init__(self, command: tuple[str, ...]) -> None:
        self._command = (*command, "--serve")
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None

    def answer(self, line: bytes, timeout_s: float) -> bytes | None:
        """Return the answer to a request, None if the server cannot be started or has ended."""
        with self._lock:
            try:
                return self._exchange(line, time.monotonic() + timeout_s)
            except OSError:
                self._kill()
                return None
            except WorkerTimeout:
                self._kill()
                raise WorkerTimeout(f"no answer after {timeout_s:g} s") from None
            except BaseException:
                # After Ctrl-C, for example, the next request must not read this answer.
                self._kill()
                raise

    def close(self) -> None:
        """End the server: it stops when its standard input is closed."""
        # A thread that still waits for an answer must not delay the end of the program for long.
        locked = self._lock.acquire(timeout=_CLOSE_TIMEOUT_S)
        process, self._process = self._process, None
        if process is not None and process.stdin and process.stdout:
            with suppress(OSError):
                process.stdin.close()
            try:
                process.wait(_CLOSE_TIMEOUT_S)
            except subprocess.TimeoutExpired:
                _kill_group(process)
            process.stdout.close()
        if locked:
            self._lock.release()

    def _exchange(self, line: bytes, deadline: float) -> bytes:
        """Send a request and return the answer. Raises: OSError, WorkerTimeout."""
        if self._process is None:
            # In its own process group, Ctrl-C in the terminal does not reach the server, and it can
            # be killed together with its child.
            self._process = subprocess.Popen(
                self._command,
                bufsize=0,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
        assert self._process.stdin and self._process.stdout
        self._process.stdin.write(line + b"\n")
        output = self._process.stdout.fileno()
        length = int.from_bytes(_read_exactly(output, _LENGTH_BYTES, deadline), "big")
        return _read_exactly(output, length, deadline)

    def _kill(self) -> None:
        process, self._process = self._process, None
        if process is not None and process.stdin and process.stdout:
            _kill_group(process)
            with suppress(OSError):
                process.stdin.close()
            process.stdout.close()


def _kill_group(process: "subprocess.Popen[bytes]") -> None:
    """Kill the server and its child."""
    with suppress(OSError):
        os.killpg(process.pid, 9)
    process.wait()


def _read_exactly(descriptor: int, count: int, deadline: float) -> bytes:
    """Return this many bytes of a pipe. Raises: OSError if it ends before that; WorkerTimeout."""
    parts: list[bytes] = []
    with selectors.DefaultSelector() as selector:
        selector.register(descriptor, selectors.EVENT_READ)
        while count:
            if not selector.select(deadline - time.monotonic()):
                raise WorkerTimeout
            part = os.read(descriptor, count)
            if not part:
                raise OSError("the worker has ended")
            parts.append(part)
            count -= len(part)
    return b"".join(parts)
