"""faintcall learn-mix: learn the mix of prefixes from the user's own contest log."""

import argparse
from pathlib import Path

from drill.callmix.from_log import learn_from_log, summary_sentences
from drill.cli.wrapping import print_text
from drill.core.errors import UserError

EXAMPLES = """examples:
  faintcall learn-mix my-contest.adi --name spring
  faintcall learn-mix my-contest.cbr --name autumn
  faintcall copy --mix spring          after it was learned

The mix holds counts of prefixes, each from at least five stations, and counts of the kinds of field
that were exchanged. No call of the log is stored, and none is ever played.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall learn-mix`."""
    command.description = (
        "Learn how often each prefix occurs in your own contest log, ADIF (.adi) or Cabrillo. "
        "With --mix NAME, the other commands then compose fictional calls accordingly."
    )
    command.epilog = EXAMPLES
    command.add_argument("log", type=Path, metavar="LOG", help="an ADI file or a Cabrillo log")
    command.add_argument(
        "--name", required=True, help="name of the mix: lower-case letters, digits and hyphens"
    )
    command.add_argument(
        "--force",
        action="store_true",
        help="replace an existing mix; sessions that used it keep the old one",
    )


def run(options: argparse.Namespace) -> int:
    """Learn the mix and summarise it. Raises: UserError."""
    try:
        summary = learn_from_log(options.log, options.name, overwrite=options.force)
    except UserError as error:
        if error.kind == "exists":
            raise UserError(f"{error}; --force replaces it", field="name") from None
        raise
    print(*summary_sentences(summary), sep="\n", end=" ")
    print_text(f"Use: faintcall copy --mix {options.name}")
    return 0
