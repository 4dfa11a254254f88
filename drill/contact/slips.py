"""Both logs of a finished contact as two slips with the same rows; errors are marked."""

from dataclasses import dataclass

from drill.contact.comparison import BothLogs
from drill.scoring.answers import align_characters


@dataclass(frozen=True, slots=True)
class SlipPart:
    """Neighbouring characters of an entry; wrong: they differ from what was sent."""

    text: str
    wrong: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class SlipRow:
    """One row of both slips; an entry is empty if the contact is not in that log.

    label: name of the row from the trainee's point of view.
    """

    label: str
    mine: tuple[SlipPart, ...]
    theirs: tuple[SlipPart, ...]


def slip_rows(logs: BothLogs) -> tuple[SlipRow, ...]:
    """Return the rows: the calls worked, the trainee's exchange, the far station's exchange."""
    # The far log omits the usual report.
    theirs = logs.own_exchange if logs.their_exchange_right else logs.their_exchange
    mine = logs.given_exchange if logs.my_exchange_right else logs.my_exchange
    given = logs.own_exchange if logs.i_logged and logs.own_exchange_sent else ""
    return (
        SlipRow(
            label="worked",
            mine=_parts(logs.my_call, logs.given_call, right=logs.my_call_right),
            theirs=_parts(logs.their_call, logs.own_call, right=logs.their_call_right),
        ),
        SlipRow(
            label="you gave",
            mine=_parts(given, logs.own_exchange, right=True),
            theirs=_parts(
                theirs, _as_logged(logs.own_exchange, theirs), right=logs.their_exchange_right
            ),
        ),
        SlipRow(
            label="they gave",
            mine=_parts(mine, logs.given_exchange, right=logs.my_exchange_right),
            theirs=_parts(
                logs.given_exchange if logs.they_logged else "", logs.given_exchange, right=True
            ),
        ),
    )


def _as_logged(exchange: str, text: str) -> str:
    """Return an exchange as in a far log: without spaces and without an optional report."""
    words = exchange.split()
    forms = ["".join(words[first:]) for first in range(len(words))]
    return min(forms, key=lambda form: abs(len(form) - len(text)), default="")


def _parts(text: str, given: str, *, right: bool) -> tuple[SlipPart, ...]:
    """Return an entry in parts, with wrong characters marked; "-" marks a missing character."""
    if right or not text:
        return (SlipPart(text, wrong=False),) if text else ()
    parts: list[SlipPart] = []
    for pair in align_characters(given, text):
        wrong = pair.sent != pair.typed
        character = pair.typed or "-"
        if parts and parts[-1].wrong == wrong:
            parts[-1] = SlipPart(parts[-1].text + character, wrong)
        else:
            parts.append(SlipPart(character, wrong))
    return tuple(parts)
