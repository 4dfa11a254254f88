"""faintcall choices: lists the names that options accept, each with a sentence."""

import argparse
from collections.abc import Iterable, Sequence
from itertools import zip_longest

from drill.callmix.storage import learned_mix_names, mixes_folder
from drill.core.models import Operator
from drill.core.paths import data_folder
from drill.session.catalogue import CatalogueEntry, session_catalogue
from drill.voices.people.roster import ENGINE_GROUPS, group_members
from drill.voices.people.styles import PLAIN_STYLE, apply_style_to_operator
from drill.voices.wordbank.bank_operators import BANK_PREFIX
from drill.voices.wordbank.storage import bank_names
from phonetics.callsign_mixes import CALLSIGN_MIXES


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall choices`."""
    command.description = "List the names that the options of the other commands accept."
    command.epilog = "example:\n  faintcall choices"


def run(options: argparse.Namespace) -> int:
    """Print the lists."""
    catalogue = session_catalogue()
    print(f"Exchanges (--exchange); your own are TOML files in {data_folder() / 'exchanges'}:")
    print_entries(catalogue["exchanges"], 14)
    print("\nMixes of calls (--mix):")
    print("  " + ", ".join(CALLSIGN_MIXES))
    learned = ", ".join(learned_mix_names()) or "none"
    print(f"  learned from your own logs: {learned} (in {mixes_folder()})")
    print(
        f"\nConditions (--conditions); your own are TOML files in {data_folder() / 'conditions'}:"
    )
    print_entries(catalogue["conditions"], 18)
    print("\nFading (--fading):")
    print_entries(catalogue["fading"], 18)
    print("\nReceivers (--filter):")
    print_entries(catalogue["receivers"], 18)
    print("\nVoices (--voices):")
    for engine in catalogue["voices"]["groups"]:
        print(f"  {engine['name']} engine: {engine['says']}")
    for group in ENGINE_GROUPS:
        print_operators(group, group_members(group))
    banks = bank_names()
    print(f"\nWord banks (--voices), from faintcall record-words:{'' if banks else ' none'}")
    for name in banks:
        print(f"  {BANK_PREFIX}{name}")
    return 0


def print_operators(group: str, members: Sequence[Operator]) -> None:
    """Print the operators of a group by engine and pitch, two per line."""
    if not members:
        return
    count = sum(not operator.hard for operator in members)
    print(f"\nOperators of the group {group}, {count} (name, pitch, accent, style):")
    for engine in dict.fromkeys(operator.engine for operator in members):
        print(f"  {engine}")
        operators = sorted((o for o in members if o.engine == engine), key=_pitch_hz)
        half = (len(operators) + 1) // 2
        for pair in zip_longest(operators[:half], operators[half:]):
            cells = [_operator_cell(operator) for operator in pair if operator is not None]
            print("    " + "".join(f"{cell:38}" for cell in cells).rstrip())


def _pitch_hz(operator: Operator) -> float:
    return apply_style_to_operator(operator).pitch_hz


def _operator_cell(operator: Operator) -> str:
    style = "" if operator.vocal_style == PLAIN_STYLE else operator.vocal_style
    hard = "hard" if operator.hard else ""
    remarks = " ".join(filter(None, (operator.accent, style, hard)))
    return f"{operator.name:11}{_pitch_hz(operator):4.0f} Hz  {remarks}"


def print_entries(entries: Iterable[CatalogueEntry], width: int) -> None:
    """Print names and their sentences. width: of the column of names, in characters."""
    for entry in entries:
        print(f"  {entry['name']:{width}}  {entry['says']}")
