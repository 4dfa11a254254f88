"""Hunts of the scripted hunter in the record, for tests and pictures."""

from typing import Any

from drill.contact.air import samples
from drill.core.models import Clip
from drill.hunt.acts import HuntAct
from drill.hunt.events import HuntEvent
from drill.hunt.hunter import POLICIES, Hunter
from drill.hunt.sessions import HuntSession


class RecordingHunt:
    """A hunt whose acts go through its session; all other attributes are those of the live hunt."""

    def __init__(self, session: HuntSession) -> None:
        """Wrap a session."""
        self._session = session

    def __getattr__(self, name: str) -> Any:
        """Return an attribute of the live hunt."""
        return getattr(self._session.live, name)

    def act(self, act: HuntAct, clip: Clip | None = None) -> list[HuntEvent]:
        """Record and perform an act."""
        return self._session.act(act, clip)

    def advance(self, to: int) -> list[HuntEvent]:
        """Advance the ear time."""
        return self._session.advance(to)


def hunt_by_script(session: HuntSession, policy: str = "strongest") -> None:
    """Let the scripted hunter work a recorded hunt to its end."""
    hunter: Any = Hunter(RecordingHunt(session), POLICIES[policy])  # type: ignore[arg-type]
    hunter.run()
    assert session.live.now >= samples(session.setup.minutes * 60)
