"""The trainee's acts in a hunt. Each has an ear time."""

from dataclasses import dataclass

from drill.contact.acts import BREAK_OFF, LEAVE, LOG, NOTE, SAYINGS, VOICE
from drill.core.errors import UserError
from drill.core.validation import one_of

TUNE, MEND, MARK, END = "tune", "mend", "mark", "end"
HUNT_ACT_KINDS = (*SAYINGS, VOICE, BREAK_OFF, TUNE, NOTE, LOG, MEND, MARK, LEAVE, END)
"""TUNE: turn the dial. MEND: change a line of the pad. MARK: mark the frequency. LEAVE: give up
this station, which clears the notes. END: end the hunt. The others as in drill.contact.acts."""


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntAct:
    """One act of the trainee.

    at: ear time in samples. kind: one of HUNT_ACT_KINDS. text: the note, the new text of a line,
    the label of a mark, or the recognised words of an over from the microphone. hz: the frequency,
    for TUNE only. line: number of a line of the pad, from 1, for MEND only; None for the last.

    Raises: UserError for an unknown kind, or a frequency that is missing or superfluous.
    """

    at: int
    kind: str
    text: str = ""
    hz: float | None = None
    line: int | None = None

    def __post_init__(self) -> None:
        """Check the kind, and the frequency."""
        one_of("kind", self.kind, HUNT_ACT_KINDS, label="act")
        if (self.hz is not None) != (self.kind == TUNE):
            raise UserError(
                f"act {self.kind!r} with hz {self.hz!r}: give hz with {TUNE!r}, and only then",
                field="hz",
            )
