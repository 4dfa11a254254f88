"""faintcall today: ten minutes of practice, chosen by the record."""

import argparse
from datetime import UTC, datetime
from pathlib import Path

from drill.cli.session_loop import run_session
from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.today import recommend
from drill.session.today_wording import describe_today

_COMMANDS = {"practise": "copy", "measure": "measure", "compare": "compare"}
"""The command that continues a session of each activity."""
_EPILOG = """examples:
  faintcall today
  faintcall today --audio-to DIR      write each item as a file, if there is no sound card
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall today`."""
    command.description = (
        "Ten minutes, chosen by your record: first steps, what you miss most, a measurement when "
        "the last one is old, or the sending drill when that was long ago."
    )
    command.epilog = _EPILOG
    command.add_argument(
        "--audio-to",
        type=Path,
        metavar="DIR",
        help="write each item as a WAV file into this folder instead of playing it",
    )


def run(options: argparse.Namespace) -> int:
    """Print the recommendation, then run it. Raises: UserError, NoSoundCard, NoVoice."""
    now = datetime.now(UTC).astimezone()
    with Store(record_file()) as store:
        recommendation = recommend(store, now=now)
        kind = recommendation.kind
        session = None if kind is None else kind.create(recommendation.options(), store)
    text = describe_today(recommendation, now=now)
    print(f"{text.when}: {text.title}.")
    print(text.why)
    if kind is None or session is None:
        print("Begin with: faintcall speak")
        return 0
    print()
    options.command, options.resume = _COMMANDS[kind.activity], False
    return run_session(options, kind.activity, kind=session)
