"""Keys in the terminal: a choice of one key, and Enter pressed while the program is busy."""

import os
import select
import sys
from collections.abc import Sequence

from drill.cli.wrapping import print_text, wrap_text


def read_key(prompt: str, allowed: Sequence[str]) -> str:
    """Return the key that the user types at the prompt, followed by Enter.

    allowed: keys in lower case, "" for Enter alone; any other key is asked for again.
    Raises: EOFError at the end of input.
    """
    while True:
        key = input(wrap_text(prompt)).strip().lower()
        if key in allowed:
            return key
        names = [name or "Enter" for name in allowed]
        print_text(f"Unknown key {key!r}. Press {', '.join(names[:-1])} or {names[-1]}.")


class EnterKey:
    """Reports, without waiting, whether Enter was pressed; always False without a terminal."""

    def __init__(self) -> None:
        """Check whether there is a terminal."""
        self._has_terminal = sys.stdin is not None and sys.stdin.isatty()

    def was_pressed(self) -> bool:
        """Return True if Enter was pressed since the last call, and discard the typed line."""
        return self._has_terminal and _take_waiting_line()

    def discard(self) -> None:
        """Discard everything that was typed so far."""
        while self.was_pressed():
            pass


def discard_typed_ahead() -> None:
    """Discard everything typed so far; do nothing without a terminal."""
    if sys.stdin is not None and sys.stdin.isatty():
        _flush_input()


if sys.platform == "win32":
    import msvcrt

    def _flush_input() -> None:
        while msvcrt.kbhit():
            msvcrt.getwch()

    def _take_waiting_line() -> bool:
        keys = ""
        while msvcrt.kbhit():
            keys += msvcrt.getwch()
        return "\r" in keys

else:
    import termios

    def _flush_input() -> None:
        termios.tcflush(sys.stdin.fileno(), termios.TCIFLUSH)

    def _take_waiting_line() -> bool:
        # A terminal returns one line per read, so the following line stays in its buffer.
        descriptor = sys.stdin.fileno()
        waiting, _, _ = select.select([descriptor], [], [], 0)
        return bool(waiting) and bool(os.read(descriptor, 4096))
