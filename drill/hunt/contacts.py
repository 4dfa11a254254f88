"""The contacts of a finished hunt: the trainee's pad compared with the logs of the stations."""

from collections.abc import Sequence
from dataclasses import replace

from drill.contact.comparison import line_about
from drill.contact.far_states import LogLine
from drill.contact.overs import TRAINEE
from drill.hunt.checking import CheckedContact, compare_hunt_logs, verdict_on
from drill.hunt.held_frequency import HeldFrequency
from drill.hunt.live import LiveHunt
from drill.hunt.pad import PadLine
from drill.radio import AUDIO_RATE_HZ


def checked_contacts(live: LiveHunt) -> tuple[CheckedContact, ...]:
    """Return the contacts of the pad in order, then those that only the other station has."""
    partners = [_partner(live, line) for line in live.pad.lines]
    contacts: list[CheckedContact] = []
    worked: set[str] = set()
    for place, (line, channel) in enumerate(zip(live.pad.lines, partners, strict=True)):
        theirs: list[LogLine] = []
        if channel is not None:
            theirs = _lines_of(live, channel)
            if partners.count(channel) > 1:
                nth = partners[:place].count(channel)
                theirs = _lines_for(live, line, channel, theirs) or theirs[nth : nth + 1]
        contact = _checked(live, line, channel, theirs, worked)
        if contact.is_right:
            worked.add(contact.logs.given_call)
        contacts.append(contact)
    for channel in live.channels.values():
        if channel.was_called and channel not in partners:
            contacts += _unlogged(live, channel)
    return tuple(contacts)


def _partner(live: LiveHunt, line: PadLine) -> HeldFrequency | None:
    """Return a line's station: the one with its call if it was called, else the one on the dial."""
    for channel in live.channels.values():
        if channel.was_called and channel.holder.call == line.call:
            return channel
    return None if line.holder is None else live.channels[line.holder]


def _lines_of(live: LiveHunt, channel: HeldFrequency) -> list[LogLine]:
    """Return the lines of a station's log that are about the trainee, in order."""
    call = live.setup.own_call
    return [line for line in channel.far_log if line_about(call, [line]) is not None]


def _lines_for(
    live: LiveHunt, line: PadLine, channel: HeldFrequency, theirs: Sequence[LogLine]
) -> list[LogLine]:
    """Return the lines with the exchange that the trainee sent in the contact of a pad line."""
    own, far = live.own_speaker(line.number - 1), channel.holder.station.speaker
    return [
        one
        for one in theirs
        if compare_hunt_logs(own=own, far=far, entry=line.entry, lines=[one]).their_exchange_right
    ]


def _checked(
    live: LiveHunt,
    line: PadLine,
    channel: HeldFrequency | None,
    theirs: Sequence[LogLine],
    worked: set[str],
) -> CheckedContact:
    best = line_about(live.setup.own_call, theirs)
    far = None
    if channel is not None:
        far = channel.holder.station.speaker if best is None else channel.speaker_for(best)
    logs = compare_hunt_logs(
        own=live.own_speaker(line.number - 1), far=far, entry=line.entry, lines=theirs
    )
    if best is None:
        # Without a line in their log, nobody knows which exchange the trainee should have copied.
        logs = replace(logs, given_exchange="", my_exchange_right=False)
    return CheckedContact(
        number=line.number,
        at_s=round(line.at / AUDIO_RATE_HZ, 1),
        hz=line.hz,
        holder=None if channel is None else channel.holder.number,
        verdict=verdict_on(logs, worked=worked),
        logs=logs,
    )


def _unlogged(live: LiveHunt, channel: HeldFrequency) -> list[CheckedContact]:
    """Return the contact with a station that logged the trainee without being logged."""
    best = line_about(live.setup.own_call, _lines_of(live, channel))
    if best is None:
        return []
    mine = [over for over in channel.trace if over.speaker == TRAINEE]
    at = mine[-1].end if mine else live.now
    before = sum(line.at < at for line in live.pad.lines)
    logs = compare_hunt_logs(
        own=live.own_speaker(before), far=channel.speaker_for(best), entry=None, lines=[best]
    )
    return [
        CheckedContact(
            number=None,
            at_s=round(at / AUDIO_RATE_HZ, 1),
            hz=live.dial_at(at),
            holder=channel.holder.number,
            verdict=verdict_on(logs, worked=()),
            logs=logs,
        )
    ]
