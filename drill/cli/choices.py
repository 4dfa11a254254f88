"""faintcall choices: the names that options take, each with a sentence."""

import argparse
from typing import TYPE_CHECKING

from drill.cli.options import Commands

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drill.offers import Entry


def add(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the command."""
    command = commands.add_parser(
        "choices",
        help="list exchanges, mixes of calls, conditions and voices",
        description="List the names that the options of copy and render take.",
        epilog="example:\n  faintcall choices",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print the lists."""
    from drill import mixes
    from drill.folders import data_folder
    from drill.offers import offers
    from phonetics.callsigns import MIXES

    found = offers()
    print(f"Exchanges (--exchange), more as TOML files in {data_folder() / 'exchanges'}:")
    print_entries(found["exchanges"], 14)
    print("\nMixes of calls (--mix):")
    print("  " + ", ".join(MIXES))
    learned = ", ".join(mixes.names()) or "none"
    print(f"  learned from your own log: {learned} (in {mixes.folder()})")
    print(f"\nConditions (--conditions), more as TOML files in {data_folder() / 'conditions'}:")
    print_entries(found["conditions"], 18)
    print("\nFading (--fading):")
    print_entries(found["fading"], 18)
    print("\nReceivers (--filter):")
    print_entries(found["receivers"], 18)
    print("\nVoices (--voices):")
    for engine in found["voices"]["groups"]:
        print(f"  {engine['name']} engine: {engine['says']}")
    print_entries(found["voices"]["operators"], 14)
    return 0


def print_entries(entries: "Iterable[Entry]", width: int) -> None:
    """Print names and their sentences."""
    for entry in entries:
        print(f"  {entry['name']:{width}}  {entry['says']}")
