"""The events of a running contact, for the screen."""

from collections.abc import Callable
from dataclasses import dataclass

from drill.core.models import Clip


@dataclass(frozen=True, kw_only=True, eq=False)
class SoundStarts:
    """Sound begins at the trainee's ear and replaces any sound that is still playing.

    at, until: in samples. render: returns the sound, which lasts from `at` to `until`; None with
    the accelerated clock. Its words are not shown before the contact has ended.
    """

    at: int
    until: int
    render: Callable[[], Clip] | None


@dataclass(frozen=True, kw_only=True, slots=True)
class SendingStarts:
    """The trainee transmits from `at` to `until` and hears nothing; text: the spoken words."""

    at: int
    until: int
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class SendingEnds:
    """The trainee's receiver is open again."""

    at: int


@dataclass(frozen=True, kw_only=True, slots=True)
class StationLeft:
    """The far station has left the frequency."""

    at: int


LiveEvent = SoundStarts | SendingStarts | SendingEnds | StationLeft
