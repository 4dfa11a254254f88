"""Runs one session in the terminal: starts or continues it, then prints its result.

The commands copy, measure and compare use this module; they differ only in their options and in the
kinds of session that they run.
"""

import argparse
import secrets
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from drill.cli.audio_out import AudioOutput, open_output
from drill.cli.caution import confirm_caution
from drill.cli.dialogue import Dialogue
from drill.cli.options import session_options_from
from drill.cli.tables import print_blocks
from drill.cli.wrapping import print_text
from drill.core.errors import NoRecogniser, UserError
from drill.core.paths import record_file
from drill.core.text_blocks import Passage
from drill.records.store import Store
from drill.session.kinds import registered_kinds
from drill.session.kinds.base import SessionKind
from drill.session.recorded import recorded_kind
from drill.session.session import Session


def add_session_options(command: argparse.ArgumentParser, activity: str) -> None:
    """Add the options that every session has; activity: see SessionKind.activity."""
    names = [kind.name for kind in registered_kinds(activity)]
    command.add_argument(
        "--kind",
        default=names[0],
        metavar="NAME",
        help=f"kind of session: {', '.join(names)} (default: {names[0]})",
    )
    command.add_argument(
        "--audio-to",
        type=Path,
        metavar="DIR",
        help="write each item as a WAV file into this folder instead of playing it",
    )
    command.add_argument(
        "--continue",
        dest="resume",
        action="store_true",
        help="continue the last session where it stopped, with its own options",
    )


def run_session(
    options: argparse.Namespace,
    activity: str,
    *,
    kind: SessionKind | None = None,
    output: AudioOutput | None = None,
) -> int:
    """Run a session of an activity until it ends, input ends, or Ctrl-C; return the exit code.

    Nothing is recorded if an option is wrong (UserError) or there is no sound card (NoSoundCard).
    kind: the set-up of a new session, None for that of the options. output: where the audio goes,
    None for where the options say.
    """
    with Store(record_file()) as store:
        kinds = registered_kinds(activity)
        if kind is None and not options.resume:
            kind = kind_from_options(options, kinds, store)
        output = output or open_output(options.audio_to)
        following: Session | None = (
            _last_session(store, kinds, options.command)
            if kind is None
            else Session.begin(kind, store, now=datetime.now(UTC))
        )
        while following is not None:
            session = following
            _run_and_report(options, session, store, output)
            print_blocks(session.result_blocks())
            following = None
            if session.finished:
                print_blocks(_machine_result(session, store))
                following = _practice_of_costliest(session, store, output)
    return 0


def _practice_of_costliest(session: Session, store: Store, output: AudioOutput) -> Session | None:
    """Show the week before and what costs most after practice.

    Return a session that practises what costs most, or None.
    """
    from drill.cli.ending import print_week, review_costliest
    from drill.session.kinds.training import SHORT_TRAINING, Training

    if session.kind.activity != Training.activity:
        return None
    print_week(session.kind.plan, store)
    with suppress(EOFError, KeyboardInterrupt):
        if review_costliest(store, output):
            plan = replace(
                session.kind.plan, seed=secrets.randbelow(1_000_000), count=SHORT_TRAINING
            )
            return Session.begin(Training.from_plan(plan, store), store, now=datetime.now(UTC))
    return None


def _machine_result(session: Session, store: Store) -> list[Passage]:
    """Return what a recogniser copied of the items just answered; empty if it cannot."""
    from drill.cli.machine_progress import copy_by_machine
    from drill.session.machine import COPIED_KINDS
    from drill.session.machine_wording import machine_blocks

    if session.kind.stored_name not in COPIED_KINDS:
        return []
    with suppress(NoRecogniser):
        copy_by_machine(store, session=session.identity)
    return machine_blocks(session.kind, session.identity, session.attempts, store)


def kind_from_options(
    options: argparse.Namespace, kinds: Sequence[type[SessionKind]], store: Store
) -> SessionKind:
    """Return the set-up of a new session of one of these kinds. Raises: UserError."""
    by_name = {kind.name: kind for kind in kinds}
    if options.kind not in by_name:
        raise UserError(
            f"{options.command} does not run sessions of the kind {options.kind!r}; choose one of "
            f"{', '.join(by_name)}",
            field="kind",
            kind="unknown",
        )
    return by_name[options.kind].create(session_options_from(options), store)


def _run_and_report(
    options: argparse.Namespace, session: Session, store: Store, output: AudioOutput
) -> None:
    """Run a session until it is finished or interrupted, and say how to continue it."""
    try:
        confirm_caution(store)
        print_text(session.kind.announcement())
        Dialogue(session, output).run()
    except (KeyboardInterrupt, EOFError):
        print()
    finally:
        output.stop()
        session.close()
    if not session.finished:
        print_text(session.standing)
        saved = "Your answers are saved. " if session.attempts else ""
        print_text(f"{saved}Continue with: faintcall {options.command} --continue")


def _last_session(store: Store, kinds: Sequence[type[SessionKind]], command: str) -> Session:
    """Return the last session of these kinds, to continue it. Raises: UserError."""
    newest = store.newest_session([kind.stored_name for kind in kinds])
    if newest is None:
        raise UserError(f"there is no session to continue; start one with: faintcall {command}")
    kind = recorded_kind(newest)
    attempts = store.attempts(newest.id)
    if kind.finished(attempts):
        raise UserError(f"the last session is finished; start a new one with: faintcall {command}")
    return Session(kind, store, identity=newest.id, attempts=attempts)
