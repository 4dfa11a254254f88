"""The trainee's notes: the typed lines, and the log line made from them."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

SEPARATORS = re.compile(r"[\s,;]+")


@dataclass(frozen=True, kw_only=True, slots=True)
class LogEntry:
    """The trainee's log line so far: call and exchange, "" if missing."""

    call: str = ""
    exchange: str = ""

    @property
    def text(self) -> str:
        """Call and exchange in one line."""
        return f"{self.call} {self.exchange}".strip()

    @property
    def is_complete(self) -> bool:
        """True if call and exchange are present and have no gaps."""
        return bool(self.call and self.exchange) and "?" not in self.text


def looks_like_call(text: str) -> bool:
    """Return whether a typed word has the form of a call; "?" matches any character.

    The prefix need not exist, because a wrongly copied call is still a call.
    """
    base = max(text.split("/"), key=len)
    letters = sum(c.isalpha() or c == "?" for c in base)
    digits = sum(c.isdigit() or c == "?" for c in base)
    known = any(c.isalpha() for c in base) or "/" in text
    return len(base) >= 3 and known and letters >= 2 and digits >= 1 and not base[-1].isdigit()


def log_entry(notes: Iterable[str]) -> LogEntry:
    """Return the log line made from notes: the last call, and the last words other than calls.

    notes: in the order of typing. The call is the first word of a note that looks like one; the
    exchange is all the words beside the call in the last note
    that has any, so that a note replaces an earlier one.
    """
    call = exchange = ""
    for note in notes:
        words = [word for word in SEPARATORS.split(note.upper()) if word]
        first = next((word for word in words if looks_like_call(word)), "")
        others = [word for word in words if word != first]
        if first:
            call = first
        if others:
            exchange = " ".join(others)
    return LogEntry(call=call, exchange=exchange)
