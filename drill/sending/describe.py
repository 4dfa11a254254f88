"""What a review and the far end tell, in sentences: the same in the terminal and on the page."""

from collections.abc import Iterator

from drill.sending.far import FarEnds, where
from drill.sending.models import Review
from drill.sending.review import Change

LEAST = 0.5
"""Share of the wanted words that have to come before a take is held against the voice."""


def verdict(found: Review) -> str:
    """Return whether all was said, in a sentence."""
    told = "All of it was said" if found.right else "Not as wanted"
    return f"{told}." if found.sure else f"{told}, as far as made out."


def changed(what: Change, against: str) -> str:
    """Return what is other than in an earlier take, in a sentence; against: which one that is."""
    parts = [
        f"{name}: {', '.join(found)}"
        for name, found in (("gone", what.gone), ("new", what.new), ("still there", what.stayed))
        if found
    ]
    return (
        f"Against {against}: {'; '.join(parts) or 'no finding then or now'}; "
        f"pace {what.pace_wpm:+.0f} words a minute, level {what.level_db:+.0f} dB."
    )


def far_told(ends: FarEnds, found: Review) -> Iterator[str]:
    """Give how a take stands against the reference voice, and where the channel took most."""
    if found.came < LEAST:
        yield "It is not what was asked for, so it is not held against the voice."
        return
    if ends.behind_db is not None:
        side = "worse" if ends.behind_db > 0 else "better"
        yield f"That is about {abs(ends.behind_db):.0f} dB {side} than {ends.operator}."
    last = ends.ends[-1]
    words = [(one.say, one.start_s, one.end_s) for one in found.heard if one.say]
    lost = where(last.loss, words)
    worst = min(last.loss.bands, key=lambda band: band[1], default=None)
    if lost:
        yield f"Lost most at {last.watts:g} W: {', '.join(lost)}."
    if worst is not None:
        yield f"The band around {worst[0]:.0f} Hz comes through worst."
