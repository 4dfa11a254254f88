"""The events of a running hunt, for the screen. Times are ear times in samples."""

from dataclasses import dataclass

from drill.contact.events import SendingEnds, SendingStarts
from drill.hunt.pad import PadLine


@dataclass(frozen=True, kw_only=True, slots=True)
class Tuned:
    """The receiver is on another frequency."""

    at: int
    hz: float


@dataclass(frozen=True, kw_only=True, slots=True)
class PadChanged:
    """The notes or the lines have changed; line: the new or changed line."""

    at: int
    line: PadLine | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Marked:
    """A frequency was marked."""

    at: int
    hz: float
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Ended:
    """The hunt has ended; how: drill.hunt.live.TIME_OVER or drill.hunt.live.ENDED_BY_TRAINEE."""

    at: int
    how: str


HuntEvent = SendingStarts | SendingEnds | Tuned | PadChanged | Marked | Ended
