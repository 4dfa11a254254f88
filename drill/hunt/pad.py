"""The pad: the trainee's notes and the logged lines, which can be corrected until the end."""

from dataclasses import dataclass, replace

from drill.contact.notes import LogEntry, log_entry


@dataclass(frozen=True, kw_only=True, slots=True)
class PadLine:
    """A logged contact.

    number: from 1. at: ear time in samples. hz: of the dial. call, got: call and exchange as copied
    from the station, "" if missing. given: the exchange that the trainee sent, "" if none was sent
    since the line before. text: the notes as typed. holder: number of the station that heard the
    trainee last on this frequency, None without one; screens do not show it.
    """

    number: int
    at: int
    hz: float
    call: str
    given: str
    got: str
    text: str
    holder: int | None = None

    @property
    def entry(self) -> LogEntry:
        """Call and exchange as one entry."""
        return LogEntry(call=self.call, exchange=self.got)


class Pad:
    """The pad of a hunt. lines: oldest first. notes: typed since the last logged line."""

    def __init__(self) -> None:
        """Start empty."""
        self.lines: list[PadLine] = []
        self.notes: list[str] = []

    @property
    def entry(self) -> LogEntry:
        """The line that logging would write now, except for its time and frequency."""
        return log_entry(self.notes)

    def note(self, text: str) -> None:
        """Add a note."""
        self.notes.append(text)

    def clear(self) -> None:
        """Drop the notes, because the station was given up."""
        self.notes.clear()

    def log(self, *, at: int, hz: float, given: str, holder: int | None = None) -> PadLine | None:
        """Log the notes and return the new line; without notes, log nothing and return None."""
        if not self.notes:
            return None
        entry = self.entry
        line = PadLine(
            number=len(self.lines) + 1,
            at=at,
            hz=hz,
            call=entry.call,
            given=given,
            got=entry.exchange,
            text=" ".join(self.notes),
            holder=holder,
        )
        self.lines.append(line)
        self.clear()
        return line

    def mend(self, number: int | None, text: str) -> PadLine | None:
        """Change call, exchange or both of a line, and return it.

        number: None for the last line. text: the new call, exchange or both; a missing one stays as
        it was. Returns None if there is no such line.
        """
        place = len(self.lines) - 1 if number is None else number - 1
        if not 0 <= place < len(self.lines):
            return None
        line = self.lines[place]
        entry = log_entry([f"{line.call} {line.got}", text])
        self.lines[place] = replace(line, call=entry.call, got=entry.exchange, text=text)
        return self.lines[place]

    def has(self, call: str) -> PadLine | None:
        """Return the first line with a call, None if the call was not worked before."""
        wanted = "".join(call.upper().split())
        return next((line for line in self.lines if wanted and line.call == wanted), None)
