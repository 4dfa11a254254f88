"""A contact in progress from the trainee's side: times of heard sound, own overs, and notes.

It reveals neither the words that were heard nor their speaker; the trainee copies these by ear.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from drill.contact.acts import NOTE
from drill.contact.air import samples
from drill.contact.live import LiveContact
from drill.contact.overs import TRAINEE
from drill.radio import AUDIO_RATE_HZ

JOINED_GAP_S = 0.2
"""Voices with a shorter pause between them form one stretch."""
SHORTEST_S = 0.3
"""Shorter stretches, cut off by the trainee's own over, are left out."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ScoreEntry:
    """A stretch of heard sound, or an over of the trainee.

    at_s, seconds: start and length. said: names of the trainee's acts in this over; empty for heard
    sound. text: the trainee's words, "" from the microphone. notes: notes typed since its start.
    """

    at_s: float
    seconds: float
    said: tuple[str, ...] = ()
    text: str = ""
    notes: tuple[str, ...] = field(default=())


def contact_score(contact: LiveContact) -> tuple[ScoreEntry, ...]:
    """Return the entries so far, in order; an entry in progress ends now."""
    trace, now = contact.frequency.trace, contact.now
    mine = [over for over in trace if over.speaker == TRAINEE]
    heard = _without(
        _joined(
            (over.start, min(over.end, now))
            for over in trace
            if over.speaker != TRAINEE and over.participant.near_db is not None
        ),
        [(over.start, over.end) for over in mine],
    )
    entries: list[tuple[int, int, tuple[str, ...], str]] = [
        (start, end, (), "")
        for start, end in heard
        if end == now or end - start >= samples(SHORTEST_S)
    ]
    entries += [
        (over.start, min(over.end, now), tuple(over.over.kind.split("+")), over.over.text)
        for over in mine
    ]
    entries.sort()
    notes = [(act.at, act.text) for act in contact.acts if act.kind == NOTE]
    following = [*(entry[0] for entry in entries[1:]), now + 1]
    return tuple(
        ScoreEntry(
            at_s=round(start / AUDIO_RATE_HZ, 2),
            seconds=round((end - start) / AUDIO_RATE_HZ, 2),
            said=said,
            text=text,
            notes=tuple(note for at, note in notes if start <= at < until),
        )
        for (start, end, said, text), until in zip(entries, following, strict=False)
    )


def _joined(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the spans in order; spans that overlap or follow closely are joined."""
    result: list[tuple[int, int]] = []
    for start, end in sorted(spans):
        if result and start - result[-1][1] < samples(JOINED_GAP_S):
            result[-1] = (result[-1][0], max(end, result[-1][1]))
        else:
            result.append((start, end))
    return result


def _without(
    spans: Iterable[tuple[int, int]], cuts: Iterable[tuple[int, int]]
) -> list[tuple[int, int]]:
    """Return the parts of spans that are outside the cuts."""
    left = list(spans)
    for low, high in cuts:
        left = [
            part
            for start, end in left
            for part in ((start, min(end, low)), (max(start, high), end))
            if part[0] < part[1]
        ]
    return left
