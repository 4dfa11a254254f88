"""Hold a sitting in the terminal: begin it or go on with it, and keep what was answered."""

import argparse
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from drill.cli.caution import caution

if TYPE_CHECKING:
    from drill.records.store import Store
    from drill.session.courses import Course
    from drill.session.session import Practice


def add_sitting(command: argparse.ArgumentParser) -> None:
    """Add the options that every sitting has."""
    command.add_argument(
        "--audio-to",
        type=Path,
        metavar="DIR",
        help="write each item as a WAV file there instead of playing it",
    )
    command.add_argument(
        "--continue",
        dest="resume",
        action="store_true",
        help="go on with the last sitting where it was stopped; the other choices are its own",
    )


def hold(
    options: argparse.Namespace,
    store: "Store",
    course: "Callable[[], Course]",
    *,
    modes: Sequence[str],
) -> "Practice":
    """Run a sitting until its end, the end of input, or Ctrl-C; return it as it stands then.

    course makes the new sitting where none is to be gone on with; modes: which kinds may be.
    """
    from drill.cli.audio_out import Files, Speaker
    from drill.cli.dialogue import Dialogue
    from drill.session.standing import announced, standing

    made = None if options.resume else course()
    output = Files(options.audio_to) if options.audio_to else Speaker()
    practice = _begun(made, store) if made else _continued(store, modes, options.command)
    try:
        caution(store)
        print(announced(practice.course))
        Dialogue(practice, output).run()
    except (KeyboardInterrupt, EOFError):
        print()
    finally:
        output.stop()
        practice.close()
    if not practice.finished:
        print(standing(practice))
        if practice.attempts:
            print(f"Your answers are kept. Go on with: faintcall {options.command} --continue")
    return practice


def _begun(course: "Course", store: "Store") -> "Practice":
    from drill.session.session import Practice

    return Practice.begin(course, store, now=datetime.now(UTC))


def _continued(store: "Store", modes: Sequence[str], command: str) -> "Practice":
    """Return the newest sitting of these modes, if items of it are left. Raises: UserError."""
    from drill.core.errors import UserError
    from drill.items.plan import Plan
    from drill.session.courses import course_from
    from drill.session.session import Practice

    newest = store.sittings(1, modes=modes)
    if not newest:
        raise UserError(f"there is no sitting to go on with; start one with: faintcall {command}")
    sitting = newest[0]
    course = course_from(sitting.mode, Plan.from_dict(sitting.plan), sitting.course)
    attempts = store.attempts(sitting.id)
    if course.finished(attempts):
        raise UserError(f"the last sitting is finished; start a new one with: faintcall {command}")
    return Practice(course, store, identity=sitting.id, attempts=attempts)
