"""faintcall learn-mix: learn the mix of prefixes from the user's own contest log."""

import argparse
from pathlib import Path

from drill.callmix.contest_log import read_log
from drill.callmix.exchange_kinds import count_kinds
from drill.callmix.learn import calls_in_text, frequent_kinds, learn_mix, matching_exchanges
from drill.callmix.storage import check_mix_name, save_learned_mix
from drill.core.counting import plural
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
    check_mix_name(options.name)
    log = read_log(options.log)
    worked = [contact.call for contact in log.contacts]
    mix = learn_mix(options.name, worked, calls_in_text(log.text))
    kinds = frequent_kinds(count_kinds(log.contacts))
    try:
        path = save_learned_mix(mix, kinds, overwrite=options.force)
    except UserError as error:
        if error.kind == "exists":
            raise UserError(f"{error}; --force replaces it", field="name") from None
        raise
    prefixes = sum(bool(share.prefix) for share in mix.shares)
    stations = sum(share.stations for share in mix.shares)
    print(
        f"{plural(len(worked), 'contact')}. Mix {mix.name}: {plural(stations, 'station')} in "
        f"{plural(prefixes, 'group')} by "
        f"prefix and {len(mix.shares) - prefixes} by country or region."
    )
    print("Exchanged: " + (", ".join(f"{kind} {n}" for kind, n in kinds.items()) or "-") + ".")
    exchanges = matching_exchanges(kinds, len(worked))
    if exchanges:
        print(f"Matching exchanges: {', '.join(exchanges)}.")
    print(f"Saved in {path}, without any call of the log. Use: faintcall copy --mix {mix.name}")
    return 0
