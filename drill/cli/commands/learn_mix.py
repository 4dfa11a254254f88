"""faintcall learn-mix: where the calls of the user's own contests came from."""

import argparse
from pathlib import Path

EXAMPLES = """examples:
  faintcall learn-mix my-contest.adi --name spring
  faintcall learn-mix my-contest.cbr --name autumn
  faintcall copy --mix spring          once it is learned

What is kept are counts of prefixes, each of five stations or more, and of the kinds of field
exchanged. No call of the log is kept, and none is ever played.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall learn-mix`."""
    command.description = (
        "Learn from a contest log of yours, ADIF (.adi) or Cabrillo, how often which "
        "prefixes come up; --mix NAME then composes fictional calls by it."
    )
    command.epilog = EXAMPLES
    command.add_argument("log", type=Path, metavar="LOG", help="an ADI file or a Cabrillo log")
    command.add_argument(
        "--name", required=True, help="of the mix: small letters, digits and hyphens"
    )
    command.add_argument(
        "--force", action="store_true", help="replace a mix of that name; sittings keep theirs"
    )


def run(options: argparse.Namespace) -> int:
    """Learn the mix, and say what was learned."""
    from drill.callmix import contest_log, learn
    from drill.callmix import mix as mixes

    mixes.check_name(options.name)
    log = contest_log.read(options.log)
    worked = [contact.call for contact in log.contacts]
    mix = learn.learn(options.name, worked, learn.calls_in(log.text))
    kinds = learn.enough(contest_log.kinds_of(log.contacts))
    path = mixes.save(mix, kinds, force=options.force)
    own = sum(bool(share.prefix) for share in mix.shares)
    stations = sum(share.stations for share in mix.shares)
    print(
        f"{len(worked)} contacts. Mix {mix.name}: {stations} stations, {own} sorts of prefix, "
        f"digit and length, {len(mix.shares) - own} of country or region."
    )
    print("Exchanged: " + (", ".join(f"{kind} {n}" for kind, n in kinds.items()) or "-") + ".")
    fitting = learn.fitting(kinds, len(worked))
    if fitting:
        print(f"Exchanges like it: {', '.join(fitting)}.")
    print(f"It is in {path}; no call of the log is. Use: faintcall copy --mix {mix.name}")
    return 0
