"""The clock of a contact in the terminal: the time of day, or turn by turn without a sound card."""

import time
from typing import Protocol

from drill.contact.air import samples
from drill.radio import AUDIO_RATE_HZ

TICK_S = 0.02
TURN_S = 5.0
"""Longest silence that passes in one turn."""


class ContactClock(Protocol):
    """The time that has passed, in samples.

    runs: True if time passes continuously; False if it passes turn by turn.
    """

    runs: bool

    def now(self) -> int:
        """Return the present time in samples from the start of the contact."""
        ...

    def set(self, at: int) -> None:
        """Continue from a time in samples."""
        ...


class RunningClock:
    """Real time. `set` excludes the time that rendering took."""

    runs = True

    def __init__(self) -> None:
        """Start at 0."""
        self.set(0)

    def now(self) -> int:
        """Return the present time in samples."""
        return self._at + round((time.monotonic() - self._started) * AUDIO_RATE_HZ)

    def set(self, at: int) -> None:
        """Continue from a time in samples."""
        self._at, self._started = at, time.monotonic()


class TurnClock:
    """Time passes only when it is set."""

    runs = False

    def __init__(self) -> None:
        """Start at 0."""
        self._at = 0

    def now(self) -> int:
        """Return the present time in samples."""
        return self._at

    def set(self, at: int) -> None:
        """Continue from a time in samples."""
        self._at = at

    def turn_ends(self) -> int:
        """Return the time at which a turn ends if there is no sound."""
        return self._at + samples(TURN_S)
