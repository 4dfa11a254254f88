"""The contacts of a finished hunt: the trainee's pad compared with the logs of the stations."""

from collections.abc import Sequence
from dataclasses import replace

from drill.contact.comparison import is_exchange_right, line_about
from drill.contact.far_states import LogLine
from drill.contact.overs import TRAINEE, Speaker
from drill.hunt.checking import CheckedContact, compare_hunt_logs, verdict_on
from drill.hunt.held_frequency import HeldFrequency
from drill.hunt.live import LiveHunt
from drill.hunt.pad import PadLine
from drill.radio import AUDIO_RATE_HZ
from drill.scoring.answers import align_characters


def checked_contacts(live: LiveHunt) -> tuple[CheckedContact, ...]:
    """Return the contacts of the pad in order, then those that only the other station has."""
    partners = [_partner(live, line) for line in live.pad.lines]
    contacts: list[CheckedContact] = []
    worked: set[str] = set()
    for place, (line, channel) in enumerate(zip(live.pad.lines, partners, strict=True)):
        theirs: list[LogLine] = []
        if channel is not None:
            theirs = _lines_about(channel, live.own_speaker(line.number - 1))
            if partners.count(channel) > 1:
                nth = partners[:place].count(channel)
                own = live.own_speaker(line.number - 1)
                theirs = _with_exchange(theirs, own) or theirs[nth : nth + 1]
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


def _lines_about(channel: HeldFrequency, own: Speaker) -> list[LogLine]:
    """Return the lines of a station's log that are about the trainee, in order.

    Other callers may have similar calls: a line with a wrong call is about the trainee only if one
    character differs, or if it has the trainee's exchange.
    """
    return [
        line
        for line in channel.far_log
        if _differing_characters(own.call, line.call) <= 1
        or (line_about(own.call, [line]) is not None and _with_exchange([line], own))
    ]


def _differing_characters(sent: str, logged: str) -> int:
    return sum(pair.sent != pair.typed for pair in align_characters(sent, logged))


def _with_exchange(lines: Sequence[LogLine], own: Speaker) -> list[LogLine]:
    """Return the lines that have the trainee's exchange."""
    return [line for line in lines if is_exchange_right(own, line.exchange)]


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
    mine = [over for over in channel.trace if over.speaker == TRAINEE]
    at = mine[-1].end if mine else live.now
    own = live.own_speaker(sum(line.at < at for line in live.pad.lines))
    best = line_about(own.call, _lines_about(channel, own))
    if best is None:
        return []
    logs = compare_hunt_logs(own=own, far=channel.speaker_for(best), entry=None, lines=[best])
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
