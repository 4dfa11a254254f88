"""faintcall history: past sessions, and the answers of one of them."""

import argparse
from collections.abc import Sequence
from datetime import datetime

from drill.core.errors import UserError
from drill.core.models import Attempt
from drill.core.paths import record_file
from drill.core.unicode_text import printable
from drill.core.validation import integer_within
from drill.items.plan import conditions_from_plan_data
from drill.records.sessions import SessionRecord
from drill.records.store import Store
from drill.session.recorded import has_fixed_snr, kind_label, result_is_withheld
from drill.session.wording import conditions_label

MAX_TABLE_ROWS = 1_000_000
"""Largest number of sessions in a table."""
_EPILOG = """examples:
  faintcall history
  faintcall history --last 5
  faintcall history --items 1          every answer of the newest session
  faintcall history --delete 3         delete session 3 with its answers, for good
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall history`."""
    command.description = "Show past sessions, newest first, with score and SNR."
    command.epilog = _EPILOG
    command.add_argument(
        "--last", type=int, default=20, metavar="N", help="number of sessions (default: 20)"
    )
    command.add_argument(
        "--delete",
        type=int,
        metavar="K",
        help="delete session K and its answers after you confirm it; 1 is the newest",
    )
    command.add_argument(
        "--items",
        type=int,
        metavar="K",
        help="show the answers of session K instead; 1 is the newest",
    )


def run(options: argparse.Namespace) -> int:
    """Print the table of sessions, or the answers of one."""
    integer_within("last", options.last, 1, MAX_TABLE_ROWS)
    with Store(record_file()) as store:
        shows_table = options.items is None and options.delete is None
        sessions = store.sessions(options.last if shows_table else -1)
        if not sessions:
            print("Nothing is recorded yet. Start with: faintcall copy")
        elif options.delete is not None:
            _delete(_numbered_session(options.delete, sessions, "delete"), store)
        elif options.items is None:
            print_sessions(sessions, store)
        else:
            print_attempts(store.attempts(_chosen_session(options.items, sessions, store).id))
    return 0


def _numbered_session(number: int, sessions: Sequence[SessionRecord], field: str) -> SessionRecord:
    """Return session `number`, counted from 1. Raises: UserError."""
    if not 1 <= number <= len(sessions):
        raise UserError(
            f"there is no session {number}; the record holds sessions 1 to {len(sessions)}",
            field=field,
        )
    return sessions[number - 1]


def _delete(session: SessionRecord, store: Store) -> None:
    """Delete a session if the user confirms it."""
    print_sessions([session], store)
    answer = input("Delete this session with its answers, for good? Type yes to confirm: ")
    if answer.strip().lower() == "yes":
        store.delete_session(session.id)
        print("The session is deleted.")
    else:
        print("Nothing is deleted.")


def _chosen_session(number: int, sessions: Sequence[SessionRecord], store: Store) -> SessionRecord:
    """Return session `number`, counted from 1. Raises: UserError."""
    session = _numbered_session(number, sessions, "items")
    if result_is_withheld(session, store):
        raise UserError(
            f"session {number} is not finished; its answers are shown after its last item",
            field="items",
        )
    return session


def _snr(snr_db: float | None) -> str:
    return "clean" if snr_db is None else f"{snr_db:+.1f} dB"


def print_sessions(sessions: Sequence[SessionRecord], store: Store) -> None:
    """Print one line for each session."""
    labels = [conditions_label(conditions_from_plan_data(session.plan)) for session in sessions]
    width = max(len("conditions"), *map(len, labels))
    head = f"{'':>3}  {'when':16}  {'kind':11}  {'part':8}  {'SNR, 3 kHz':>10}  "
    head += f"{'conditions':{width}}"
    print(f"{head}  right       on first hearing")
    for number, (session, label) in enumerate(zip(sessions, labels, strict=True), 1):
        conditions = conditions_from_plan_data(session.plan)
        when = datetime.fromisoformat(session.started).astimezone().strftime("%Y-%m-%d %H:%M")
        right = f"{session.right} of {session.answered}"
        first = f"{session.right_at_first_hearing} of {session.answered}"
        if result_is_withheld(session, store):
            right, first = f"{session.answered} answered", ""
        snr = _snr(conditions.snr_db) if has_fixed_snr(session) else "by answers"
        line = (
            f"{number:>3}  {when:16}  {kind_label(session):11}  {session.plan['part']:8}  "
            f"{snr:>10}  {label:{width}}  {right:10}  {first}"
        )
        print(line.rstrip())


def print_attempts(attempts: Sequence[Attempt]) -> None:
    """Print one line for each answer: score, sent, typed, SNR, operator, seconds and plays."""
    for number, attempt in enumerate(attempts, 1):
        sent = " ".join(score.sent for score in attempt.scores)
        typed = printable(attempt.answer.typed) or "(given up)"
        replays = attempt.answer.replays
        plays = f"{replays + 1} times" if replays else "once"
        print(
            f"{number:>3}  {'right' if attempt.right else 'wrong'}  sent {sent}  typed {typed}  "
            f"{_snr(attempt.item.conditions.snr_db)}  {attempt.item.operator.name}  "
            f"{attempt.answer.seconds:.1f} s, heard {plays}"
        )
