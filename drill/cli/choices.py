"""faintcall choices: the names that options take, each with a sentence."""

import argparse

from drill.cli.options import Commands


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
    from drill.voices.roster import BANK_PREFIX, ROSTER
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
    for operator in ROSTER:
        hard = ", hard to understand, only when asked for" if operator.hard else ""
        accent = f", accent {operator.accent}" if operator.accent else ""
        print(
            f"  {operator.name:14}  {operator.engine}, {operator.pitch_hz:.0f} Hz, "
            f"pace {operator.pace:g}{accent}{hard}"
        )
    banks = bank_folder.names()
    print(
        "\nWord banks (--voices), recorded with faintcall record-words:"
        + ("" if banks else " none")
    )
    for name in banks:
        print(f"  {BANK_PREFIX}{name}")
    return 0
