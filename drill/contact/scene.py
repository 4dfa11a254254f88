"""The interface of a frequency to its stations: its clock, its air, and each other's overs."""

from collections.abc import Callable
from typing import Protocol

from drill.contact.air import Air, OnAir, Participant
from drill.contact.hearing import Ears
from drill.contact.overs import Over
from drill.contact.stations import FarStation
from drill.contact.values import ContactValues
from drill.items.plan import Plan
from phonetics.exchanges import Exchange


class Scene(Protocol):
    """The frequency as seen by its stations.

    now: time in samples. ears: of the far operator. exchange: of both ends.
    """

    now: int
    values: ContactValues
    station: FarStation
    air: Air
    ears: Ears
    session_plan: Plan
    exchange: Exchange

    def schedule(self, delay_s: float, action: Callable[[], None]) -> None:
        """Run an action after a delay in seconds."""
        ...

    def plan(self, participant: Participant, over: Over, start: int) -> OnAir:
        """Return an over that will start at a time; `begin` puts it on the air."""
        ...

    def expect(self, on_air: OnAir) -> None:
        """Register an over that is likely to start soon."""
        ...

    def forget(self, on_air: OnAir) -> None:
        """Drop a registered over that will not start after all."""
        ...

    def begin(self, on_air: OnAir) -> OnAir:
        """Put an over on the air now."""
        ...

    def is_on_air(self, speaker: str) -> bool:
        """Return whether a station transmits now."""
        ...

    def recent(self, *, without: str) -> list[OnAir]:
        """Return recent overs, except those of one speaker."""
        ...

    def is_waiting(self, caller: str) -> bool:
        """Return whether a caller is still there."""
        ...

    def leave(self, caller: str) -> None:
        """Take a caller off the frequency."""
        ...

    def tell_station_left(self) -> None:
        """Tell the screen that the far station has gone."""
        ...
