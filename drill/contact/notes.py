"""The trainee's notes: what was typed, and the log line that it makes."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from phonetics.callsigns import parse_callsign

SEPARATORS = re.compile(r"[\s,;]+")


@dataclass(frozen=True, kw_only=True, slots=True)
class LogEntry:
    """A log line as the trainee has it so far: call and exchange, "" for what is lacking."""

    call: str = ""
    exchange: str = ""

    @property
    def text(self) -> str:
        """Call and exchange in one line."""
        return f"{self.call} {self.exchange}".strip()

    @property
    def is_complete(self) -> bool:
        """True if there are a call and an exchange, and neither has a gap."""
        return bool(self.call and self.exchange) and "?" not in self.text


def looks_like_call(text: str) -> bool:
    """Return whether a typed word has the form of a call; "?" stands for any character."""
    if len(text) < 3 or not any(c.isalpha() for c in text):
        return False
    for stand_in in ("A", "1"):
        try:
            parse_callsign(text.replace("?", stand_in))
        except ValueError:
            continue
        return True
    return False


def log_entry(notes: Iterable[str]) -> LogEntry:
    """Return the log line that notes make: the last call, and the last words that are no call.

    notes: in the order of typing. The exchange is all the words beside the call in the last note
    that has any, so that a note replaces an earlier one.
    """
    call = exchange = ""
    for note in notes:
        words = [word for word in SEPARATORS.split(note.upper()) if word]
        calls = [word for word in words if looks_like_call(word)]
        others = [word for word in words if word not in calls]
        if calls:
            call = calls[-1]
        if others:
            exchange = " ".join(others)
    return LogEntry(call=call, exchange=exchange)
