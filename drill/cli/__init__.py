"""The command line: reads the arguments and runs one command, a module of `drill.cli.commands`.

Only the module of the command that runs is imported, so that `faintcall --help` starts quickly and
commands can import what they need at the top.
"""

import argparse
import gc
import keyword
import os
import signal
import sys
from collections.abc import Collection, Sequence
from contextlib import suppress
from importlib import import_module
from typing import Any

from drill import __version__
from drill.cli.commands.page import add_page_options
from drill.cli.failures import describe_failure
from drill.cli.streams import discard_output, prepare_streams
from drill.cli.wrapping import print_text
from drill.core.errors import FaintcallError
from drill.core.paths import PERSON_VARIABLE, checked_person
from drill.core.unicode_text import printable

COMMANDS = {
    "page": "open the drills in a browser, as `faintcall` alone does",
    "today": "ten minutes on what your record shows that you need to practise",
    "copy": "practise copying: hear an item, type it, see what was sent",
    "contact": "practise whole contacts: call, correct what the station misheard, copy, log",
    "hunt": "hunt stations on a crowded band: tune, choose, call, copy, log, move on",
    "speak": "practise sending: say calls and exchanges, and hear how they arrive",
    "measure": "measure the SNR at which you copy half of all calls",
    "compare": "compare voices, fading, filters or words in one blind session",
    "report": "write a report on your record: thresholds, trends, confusions",
    "transcribe": "print the words that the recogniser copies from a sound file",
    "listen": "hear and see conditions, with and without one stage of the channel",
    "render": "write a set of items as sound files with a manifest and an answer sheet",
    "budget": "calculate the SNR on a path from power, antennas and noise",
    "export": "write your record as CSV, JSON lines or Parquet",
    "import": "add the exported record of another computer",
    "learn-mix": "learn the mix of prefixes in your own contest log",
    "record-words": "record code words and digits as a voice",
    "enrol": "let the recogniser learn a voice from recorded words",
    "history": "list past sessions",
    "people": "compare the people who have a record on this computer",
    "choices": "list exchanges, mixes of calls, conditions and voices",
    "voices": "list speech engines and operators, and what is missing",
    "selfcheck": "measure the radio path on this computer against the standards",
    "help": "show a page of the manual",
}
"""Every command with its summary, in the order of `faintcall --help`."""

GARBAGE_THRESHOLD = 50_000
"""Objects made between two searches for garbage; Python's own default is 700."""

EXAMPLES = """Begin with `faintcall today`: it chooses ten minutes of what you need most.

examples:
  faintcall                                        the page, in a browser
  faintcall copy                                   20 fictional calls in light noise
  faintcall copy --part over --exchange zone-amateur --snr -3 --fading mid-moderate
  faintcall listen --conditions busy-weekend --without neighbours
  faintcall render --items 200 --seed 7 --snr -3 --to DIR
  faintcall history

Practice audio is for your ears only: never put it on the air. Transmit only with a licence and
under the rules of your country. Start with the volume low, especially with headphones.
"""


def parser(load: Collection[str] = tuple(COMMANDS)) -> argparse.ArgumentParser:
    """Return the parser of the whole command line.

    load: the commands whose modules are imported to add their options; the other commands are only
    listed.
    """
    top = argparse.ArgumentParser(
        prog="faintcall",
        description="Practise copying weak single-sideband voice contacts: fictional call signs "
        "and exchanges, spoken in phonetics, through an SSB channel at a chosen SNR. Without a "
        "command, faintcall opens the same drills in a browser.",
        epilog=EXAMPLES,
        formatter_class=_HelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"faintcall {__version__}")
    top.add_argument(
        "--person",
        metavar="NAME",
        help="use this person's own record, if several people share the computer",
    )
    add_page_options(top)
    top.set_defaults(command="page", port=None, browser=True)
    commands = top.add_subparsers(metavar="COMMAND")
    for name, summary in COMMANDS.items():
        command = commands.add_parser(name, help=summary, formatter_class=_HelpFormatter)
        command.set_defaults(command=name)
        if name in load:
            _module(name).add(command)
    return top


class _HelpFormatter(argparse.RawDescriptionHelpFormatter):
    """Wrap paragraphs; keep the lines of a paragraph with indented lines, such as examples."""

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        paragraphs = []
        for paragraph in text.strip().split("\n\n"):
            keeps_lines = "\n " in paragraph
            kind = argparse.RawDescriptionHelpFormatter if keeps_lines else argparse.HelpFormatter
            paragraphs.append(kind._fill_text(self, paragraph, width, indent))
        return "\n\n".join(paragraphs)


def _module(command: str) -> Any:
    name = command.replace("-", "_")
    return import_module(f"drill.cli.commands.{name + '_' if keyword.iskeyword(name) else name}")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command line; return the exit code.

    0: done. 1: something is missing on this computer. 2: bad input. 130: stopped by Ctrl-C.
    """
    # The transforms are short: extra threads in the linear algebra library only slow them down.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Objects created by imports stay alive, so garbage collection would only delay the first sound.
    gc.set_threshold(GARBAGE_THRESHOLD)
    prepare_streams()
    words = sys.argv[1:] if arguments is None else arguments
    options = argparse.Namespace()
    person = os.environ.get(PERSON_VARIABLE)
    try:
        parser(load=words).parse_args(words, options)
        if options.person is not None:  # in the environment, so that other processes follow
            os.environ[PERSON_VARIABLE] = checked_person(options.person)
        status = int(_module(options.command).run(options))
        sys.stdout.flush()
        return status
    except BrokenPipeError:  # the program that reads the pipe, such as `head`, has ended
        discard_output()
        return 0
    except KeyboardInterrupt:
        _print_error("stopped; everything you finished is saved", before="\n")
        return 130
    except (FaintcallError, EOFError, OSError, ImportError) as error:
        failure = describe_failure(error, vars(options))
        if failure is None:
            raise
        if isinstance(error, OSError):
            discard_output()
        _print_error(failure.message, before="\n" if isinstance(error, EOFError) else "")
        return failure.status
    finally:
        if person is None:
            os.environ.pop(PERSON_VARIABLE, None)
        else:
            os.environ[PERSON_VARIABLE] = person


def _print_error(message: str, *, before: str = "") -> None:
    # If standard error cannot be written either, the exit code still reports the failure.
    with suppress(OSError):
        text = f"{before}faintcall: {printable(message)}"
        print_text(text, stream=sys.stderr, flush=True)


def run() -> None:
    """Run as the installed command `faintcall`."""
    # Without this, a program that receives SIGTERM would leave incomplete files behind.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))
    sys.exit(main())
