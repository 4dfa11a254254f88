"""Checked contacts for tests, made from both logs. All calls are fictional."""

from drill.contact.far_states import LogLine
from drill.contact.notes import LogEntry
from drill.contact.overs import Speaker
from drill.hunt.checking import CheckedContact, compare_hunt_logs, verdict_on
from phonetics.message import Field
from tests.drill.contact.scripted_trainee import OWN

HZ = 14_200_000.0


def station(call: str = "OH2QRK", serial: str = "212") -> Speaker:
    return Speaker(
        call=call,
        fields=(
            Field(name="report", kind="report", text="59", optional_if="59"),
            Field(name="serial", kind="serial", text=serial),
        ),
    )


def checked(
    call: str = "OH2QRK",
    logged: str | None = "",
    theirs: tuple[str, str] | None = ("E87ABC", "034"),
    *,
    number: int = 1,
    at_s: float = 60.0,
    hz: float = HZ,
    worked: tuple[str, ...] = (),
) -> CheckedContact:
    """Return a contact. logged: the trainee's line, "" for a right one, None for no line."""
    text = f"{call} 212" if logged == "" else logged
    entry = None
    if text is not None:
        entry = LogEntry(call=text.split()[0], exchange=text.split()[1])
    lines = [] if theirs is None else [LogLine(call=theirs[0], exchange=theirs[1])]
    logs = compare_hunt_logs(own=OWN, far=station(call), entry=entry, lines=lines)
    return CheckedContact(
        number=None if entry is None else number,
        at_s=at_s,
        hz=hz,
        holder=0,
        verdict=verdict_on(logs, worked=worked),
        logs=logs,
    )
