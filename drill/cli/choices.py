"""faintcall choices: the names that options take, each with a sentence."""

import argparse
from collections.abc import Sequence
from itertools import zip_longest
from typing import TYPE_CHECKING

from drill.cli.options import Commands

if TYPE_CHECKING:
    from drill.items import Operator


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
    from drill import mixes, voices
    from drill.folders import data_folder
    from drill.radio import presets
    from drill.voices import bank_folder
    from drill.voices.roster import BANK_PREFIX, GROUPS, people
    from phonetics.callsigns import MIXES
    from phonetics.exchanges import load, names

    own = data_folder() / "exchanges"
    print(f"Exchanges (--exchange), more as TOML files in {own}:")
    for name in names(own):
        exchange = load(name, own)
        print(f"  {name:14}  {exchange.title}: {exchange.sentence}")
    print("\nMixes of calls (--mix):")
    print("  " + ", ".join(MIXES))
    learned = ", ".join(mixes.names()) or "none"
    print(f"  learned from your own log: {learned} (in {mixes.folder()})")
    print(f"\nConditions (--conditions), more as TOML files in {data_folder() / 'conditions'}:")
    for name in presets.names(data_folder() / "conditions"):
        print(f"  {name:18}  {presets.preset(name, data_folder() / 'conditions').says}")
    print("\nFading (--fading):")
    for name in presets.fading_names():
        print(f"  {name:18}  {presets.sentence(name)}")
    print("\nReceivers (--filter):")
    for name in presets.receiver_names():
        print(f"  {name:18}  {presets.sentence(name)}")
    print("\nVoices (--voices):")
    for engine in voices.names():
        problem = voices.find(engine).problem()
        print(f"  {engine} engine: {problem or 'ready'}")
    for group in GROUPS:
        members = [person.operator for person in people(group)]
        print_operators(group, members)
    banks = bank_folder.names()
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
    from drill.voices.style import styled

    return styled(operator).pitch_hz


def _cell(operator: "Operator") -> str:
    style = "" if operator.style == "plain" else operator.style
    marks = " ".join(filter(None, (operator.accent, style, "hard" if operator.hard else "")))
    return f"{operator.name:11}{_pitch_hz(operator):4.0f} Hz  {marks}"
