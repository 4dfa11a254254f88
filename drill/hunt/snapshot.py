"""The state of a running hunt that a screen shows, copied so that another thread can read it."""

from dataclasses import dataclass

from drill.contact.acts import LEAVE, LOG, SAYINGS
from drill.contact.notes import LogEntry
from drill.hunt.acts import TUNE
from drill.hunt.live import LiveHunt
from drill.hunt.pad import PadLine


@dataclass(frozen=True, kw_only=True)
class HuntSnapshot:
    """The state of a hunt at one time. Times are in samples, frequencies in Hz.

    bands: lowest and highest frequency of each. marks: frequency and label. lines: of the pad,
    oldest first. notes, entry: since the last logged line. said: kinds of the overs sent since
    tuning, logging or giving up. sending: end and words of the present over, None if there is none.
    sayings: what each key would say. acts: number of acts so far.
    """

    now: int
    ends_at: int
    dial_hz: float
    bands: tuple[tuple[float, float], ...]
    marks: tuple[tuple[float, str], ...]
    lines: tuple[PadLine, ...]
    notes: tuple[str, ...]
    entry: LogEntry
    said: tuple[str, ...]
    sending: tuple[int, str] | None
    sayings: dict[str, str]
    acts: int
    ended: str


def hunt_snapshot(live: LiveHunt) -> HuntSnapshot:
    """Return the present state; it contains nothing that the trainee has only heard."""
    sending = None
    if live.sending and live.sending[-1][1] > live.now:
        sending = live.sending[-1][1], live.own.overs[-1].over.text
    return HuntSnapshot(
        now=live.now,
        ends_at=live.ends_at,
        dial_hz=live.dial_hz,
        bands=tuple((band.lower_hz, band.upper_hz) for band in live.bands),
        marks=tuple(live.marks),
        lines=tuple(live.pad.lines),
        notes=tuple(live.pad.notes),
        entry=live.pad.entry,
        said=_said_here(live),
        sending=sending,
        sayings={kind: live.saying(kind).text for kind in SAYINGS},
        acts=len(live.acts),
        ended=live.ended,
    )


def _said_here(live: LiveHunt) -> tuple[str, ...]:
    said: list[str] = []
    for act in reversed(live.acts):
        if act.kind in (TUNE, LOG, LEAVE):
            break
        if act.kind in SAYINGS:
            said.insert(0, act.kind)
    return tuple(said)
