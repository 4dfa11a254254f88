"""The command line: one file a command, nothing heavy loaded before a command runs."""

import argparse
import os
import sys
from collections.abc import Sequence

from drill import __version__
from drill.core.errors import FaintcallError, UserError

EXAMPLES = """examples:
  faintcall                                        the page, in a browser
  faintcall copy                                   20 fictional calls, in light noise
  faintcall copy --part over --exchange zone-amateur --snr -3 --fading mid-moderate
  faintcall listen --conditions busy-weekend --without neighbours
  faintcall render --items 200 --seed 7 --snr -3 --to DIR
  faintcall history

Practice audio is for the ears only: never put it on the air. Transmit only with a licence and
under the rules of your country. Start with the volume low, above all with headphones.
"""


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    from drill.cli.commands import (
        budget,
        choices,
        compare,
        copy,
        export,
        history,
        import_,
        learn_mix,
        listen,
        measure,
        page,
        record_words,
        render,
        report,
        selfcheck,
        speak,
        voices,
    )

    top = argparse.ArgumentParser(
        prog="faintcall",
        description="Practise copying weak single-sideband voice contacts: fictional call signs "
        "and exchanges, spoken in phonetics, through an SSB channel at a chosen SNR. Without a "
        "command it opens the page: the same drills in a browser.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"faintcall {__version__}")
    page.add_page(top)
    top.set_defaults(run=page.run, port=None, browser=True)
    commands = top.add_subparsers(metavar="COMMAND")
    order = (
        page,
        copy,
        speak,
        measure,
        compare,
        report,
        listen,
        render,
        budget,
        export,
        import_,
        learn_mix,
        record_words,
        history,
        choices,
        voices,
        selfcheck,
    )
    for command in order:
        command.add(commands)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command line and return the exit code: 0 done, 1 cannot here, 2 bad input."""
    # Many short transforms: threads of the linear algebra library only get in each other's way.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    options = parser().parse_args(arguments)
    try:
        return int(options.run(options))
    except UserError as error:
        print(f"faintcall: {error}", file=sys.stderr)
        return 2
    except FaintcallError as error:
        print(f"faintcall: {error}", file=sys.stderr)
        return 1
    except BrokenPipeError:  # the reader of a pipe went away, as `head` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("\nfaintcall: stopped; what was finished is kept", file=sys.stderr)
        return 130


def run() -> None:
    """Entry point of the installed command."""
    sys.exit(main())
