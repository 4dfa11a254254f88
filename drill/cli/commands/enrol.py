"""faintcall enrol: let the recogniser learn a voice from recorded words."""

import argparse
from collections.abc import Sequence

from drill.cli.wrapping import print_text
from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.records.store import Store
from drill.sending.enrol_banks import enrol_banks
from drill.sending.enrolled_voices import (
    NO_VOICE,
    delete_voice,
    enrolled_names,
    use_voice,
    used_voice,
)

_EPILOG = """The recogniser copies some voices badly. Record the code words, digits and the stroke
two or three times, then let it learn them. This takes less than a minute on an ordinary computer.
The learnt voice is used by faintcall speak, its page and faintcall transcribe --voice, and by
nothing else.

examples:
  faintcall record-words mine          the words for the first time
  faintcall record-words mine-2        and again
  faintcall enrol mine mine-2          learn both
  faintcall enrol --use none           recognise without it
  faintcall enrol mine --delete        forget the voice; the recordings stay

The recordings and the learnt voice stay on this computer. Learn a voice only if its speaker agrees.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall enrol`."""
    command.description = "Let the recogniser learn a voice from words recorded by record-words."
    command.epilog = _EPILOG
    command.add_argument(
        "banks",
        nargs="*",
        metavar="BANK",
        help="word banks of one speaker; the first names the voice",
    )
    action = command.add_mutually_exclusive_group()
    action.add_argument("--list", action="store_true", help="list the learnt voices")
    action.add_argument(
        "--use", metavar="NAME", help=f"use this learnt voice from now on, or {NO_VOICE}"
    )
    action.add_argument("--delete", action="store_true", help="forget the named voices")


def run(options: argparse.Namespace) -> int:
    """Run the command; return the exit code. Raises: UserError, NoRecogniser."""
    with Store(record_file()) as store:
        if options.list:
            return _print_voices(store)
        if options.use is not None:
            use_voice(store, options.use)
            return _print_voices(store)
        if not options.banks:
            raise UserError("give the word banks to learn from: faintcall enrol BANK")
        if options.delete:
            for name in options.banks:
                delete_voice(store, name)
                print_text(f"The voice {name} is forgotten. Its recordings stay in the word bank.")
            return 0
        return _enrol(store, options.banks)


def _print_voices(store: Store) -> int:
    used = used_voice(store)
    for name in enrolled_names():
        print_text(f"{name}{', used by faintcall speak' if name == used else ''}")
    if used is None:
        print_text("faintcall speak uses no learnt voice.")
    return 0


def _enrol(store: Store, names: Sequence[str]) -> int:
    """Learn a voice, print the gain, and keep the voice if nothing became worse."""
    print_text("Learning. This can take a minute.", flush=True)
    learnt = enrol_banks(store, names)
    for sentence in learnt.says:
        print_text(sentence)
    if not learnt.kept:
        print_text("The learnt voice is not kept.")
        return 1
    print_text(f"The voice {learnt.name} is kept; faintcall speak uses it from now on.")
    return 0
