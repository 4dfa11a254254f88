"""faintcall choices: the names that options take, each with a sentence."""

import argparse
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drill.core.models import Operator
    from drill.session.catalogue import CatalogueEntry


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall choices`."""
    command.description = "List the names that the options of copy and render take."
    command.epilog = "example:\n  faintcall choices"


def run(options: argparse.Namespace) -> int:
    """Print the lists."""
    from drill.callmix.storage import learned_mix_names, mixes_folder
    from drill.core.paths import data_folder
    from drill.session.catalogue import session_catalogue
    from drill.voices.people.roster import OPERATOR_GROUPS, group_members
    from drill.voices.wordbank.bank_operators import BANK_PREFIX
    from drill.voices.wordbank.storage import bank_names
    from phonetics.callsign_mixes import CALLSIGN_MIXES

    found = session_catalogue()
    print(f"Exchanges (--exchange), more as TOML files in {data_folder() / 'exchanges'}:")
    print_entries(found["exchanges"], 14)
    print("\nMixes of calls (--mix):")
    print("  " + ", ".join(CALLSIGN_MIXES))
    learned = ", ".join(learned_mix_names()) or "none"
    print(f"  learned from your own log: {learned} (in {mixes_folder()})")
    print(f"\nConditions (--conditions), more as TOML files in {data_folder() / 'conditions'}:")
    print_entries(found["conditions"], 18)
    print("\nFading (--fading):")
    print_entries(found["fading"], 18)
    print("\nReceivers (--filter):")
    print_entries(found["receivers"], 18)
    print("\nVoices (--voices):")
    for engine in found["voices"]["groups"]:
        print(f"  {engine['name']} engine: {engine['says']}")
    for group in OPERATOR_GROUPS:
        members = group_members(group)
        print_operators(group, members)
    banks = bank_names()
    print(
        "\nWord banks (--voices), recorded with faintcall record-words:"
        + ("" if banks else " none")
    )
    for name in banks:
        print(f"  {BANK_PREFIX}{name}")
    return 0


def print_operators(group: str, members: "Sequence[Operator]") -> None:
    """Print the operators of a group, two in a line and by pitch, engine after engine."""
    if not members:
        return
    count = sum(not each.hard for each in members)
    print(f"\nOperators of the group {group}, {count} (name, pitch, accent, style):")
    for engine in dict.fromkeys(each.engine for each in members):
        print(f"  {engine}")
        some = sorted((each for each in members if each.engine == engine), key=_pitch_hz)
        half = (len(some) + 1) // 2
        for left, right in zip_longest(some[:half], some[half:]):
            cells = [_cell(each) for each in (left, right) if each is not None]
            print("    " + "".join(f"{cell:38}" for cell in cells).rstrip())


def _pitch_hz(operator: "Operator") -> float:
    from drill.voices.people.styles import apply_style_to_operator

    return apply_style_to_operator(operator).pitch_hz


def _cell(operator: "Operator") -> str:
    style = "" if operator.vocal_style == "plain" else operator.vocal_style
    marks = " ".join(filter(None, (operator.accent, style, "hard" if operator.hard else "")))
    return f"{operator.name:11}{_pitch_hz(operator):4.0f} Hz  {marks}"


def print_entries(entries: "Iterable[CatalogueEntry]", width: int) -> None:
    """Print names and their sentences."""
    for entry in entries:
        print(f"  {entry['name']:{width}}  {entry['says']}")
