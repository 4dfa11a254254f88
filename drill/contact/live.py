"""One contact, driven by a screen: advance the clock, act, and get events.

The screen owns the clock and may stop it when it has to wait, for example while sound is rendered.
Nothing here depends on the time of day.
"""

from collections.abc import Sequence

from drill.contact.acts import (
    BREAK_OFF,
    LEAVE,
    LOG,
    NOTE,
    SAYINGS,
    VOICE,
    Act,
    compose_saying,
)
from drill.contact.air import samples
from drill.contact.events import LiveEvent, StationLeft
from drill.contact.frequency import Frequency
from drill.contact.notes import LogEntry, log_entry
from drill.contact.overs import FAR, Over
from drill.core.models import Clip

SETTLING_S = 20.0
"""Time that the far station still gets after the trainee has logged or left."""
LOGGED, LEFT, STATION_LEFT = "logged", "left", "station-left"


class LiveContact:
    """A contact in progress.

    ended: "" while it lasts, then LOGGED, LEFT (the trainee gave up) or STATION_LEFT. ended_at: the
    time of the end in samples.
    """

    def __init__(self, frequency: Frequency) -> None:
        """Begin at sample 0."""
        self.frequency = frequency
        self.acts: list[Act] = []
        self.ended = ""
        self.ended_at = 0

    @property
    def now(self) -> int:
        """Present time in samples from the start of the contact."""
        return self.frequency.now

    @property
    def next_at(self) -> int | None:
        """Time in samples of the next event without an act; None if there is none."""
        return None if self.ended else self.frequency.next_at

    @property
    def is_sending(self) -> bool:
        """True while the trainee transmits and hears nothing."""
        return self.frequency.is_sending

    @property
    def notes(self) -> tuple[str, ...]:
        """The trainee's notes, in order."""
        return tuple(act.text for act in self.acts if act.kind == NOTE)

    @property
    def entry(self) -> LogEntry:
        """The trainee's log line, made from the notes."""
        return log_entry(self.notes)

    def advance(self, to: int) -> list[LiveEvent]:
        """Advance to `to` in samples; return the events. Ended contacts do not change."""
        if self.ended:
            return []
        events = self.frequency.advance(max(to, self.now))
        if any(isinstance(event, StationLeft) for event in events):
            self._end(STATION_LEFT)
        return events

    def saying(self, kind: str) -> Over:
        """Return the over that a key would send now; kind: a key of SAYINGS."""
        far = [o.over for o in self.frequency.trace if o.speaker == FAR]
        speaker = self.frequency.trainee.speaker
        return compose_saying(kind, speaker, far[-1] if far else None, self.entry)

    def act(self, act: Act, clip: Clip | None = None) -> list[LiveEvent]:
        """Advance to the act, perform it, and return what happened.

        clip: the recording from the microphone, for an act of the kind VOICE. Acts after the end
        are ignored. Raises: ValueError for an act in the past.
        """
        if act.at < self.now:
            raise ValueError(
                f"the act at sample {act.at} lies in the past; the current sample is {self.now}"
            )
        events = self.advance(act.at)
        if self.ended:
            return events
        self.acts.append(act)
        if act.kind in SAYINGS:
            self.frequency.send(self.saying(act.kind))
        elif act.kind == VOICE:
            self.frequency.send(Over(kind=VOICE, words=(), clip=clip, said=act.text))
        elif act.kind == BREAK_OFF:
            self.frequency.break_off()
        events += self.frequency.take_events()
        if act.kind in (LOG, LEAVE):
            self._end(LOGGED if act.kind == LOG else LEFT)
        return events

    def _end(self, how: str) -> None:
        """End the contact; the far station still finishes its current activity."""
        self.ended, self.ended_at = how, self.now
        self.frequency.advance(self.now + samples(SETTLING_S))
        self.frequency.take_events()


def replay(contact: LiveContact, acts: Sequence[Act]) -> list[LiveEvent]:
    """Repeat recorded acts at their times, and return all events."""
    events: list[LiveEvent] = []
    for act in acts:
        events += contact.act(act)
    return events
