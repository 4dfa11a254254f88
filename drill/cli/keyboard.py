"""Keys at the terminal: one of those that a line names, and Enter while something else goes on."""

import sys
from collections.abc import Sequence


def choose(prompt: str, allowed: Sequence[str]) -> str:
    """Return one of the keys that the prompt names. Raises: EOFError at the end of input."""
    while True:
        choice = input(prompt).strip().lower()
        if choice in allowed:
            return choice
        print(f"{choice!r} is none of them.")


class Enter:
    """Tells whether Enter was pressed, without waiting; never so where the input is no terminal."""

    def __init__(self) -> None:
        """Look whether there is a terminal."""
        self._there = sys.stdin is not None and sys.stdin.isatty()

    def pressed(self) -> bool:
        """Return True where Enter was pressed since it was asked last; what was typed is taken."""
        return self._there and _line_waits()

    def forget(self) -> None:
        """Take away what was typed until now."""
        while self.pressed():
            pass


if sys.platform == "win32":

    def _line_waits() -> bool:
        import msvcrt

        keys = ""
        while msvcrt.kbhit():
            keys += msvcrt.getwch()
        return "\r" in keys

else:

    def _line_waits() -> bool:
        import os
        import select

        # A terminal hands over whole lines, one a reading, so nothing of the next one is taken.
        where = sys.stdin.fileno()
        waits, _, _ = select.select([where], [], [], 0)
        return bool(waits) and bool(os.read(where, 4096))
