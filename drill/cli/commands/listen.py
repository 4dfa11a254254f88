"""faintcall listen: hear conditions, with and without one of their stages, and see them."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from drill.cli.caution import caution
from drill.cli.options import add_plan, plan_from
from drill.core.conditions import STAGES

if TYPE_CHECKING:
    from drill.cli.audio_out import Output
    from drill.core.models import Item
    from drill.radio.channel import ReceivedAudio

EXAMPLES = """examples:
  faintcall listen --conditions aurora
  faintcall listen --conditions busy-weekend --without neighbours --picture weekend.png
  faintcall listen --snr 3 --processing clipped --without processing

With --without, the same over is heard twice: A as it is, B without that stage. Fading, noise and
neighbours are the same in both. The picture shows the spectrogram, the fading and the levels.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall listen`."""
    command.description = (
        "Hear an over under chosen conditions, with and without one of their stages."
    )
    command.epilog = EXAMPLES
    command.add_argument(
        "--without", metavar="STAGE", help=f"compare without one of: {', '.join(STAGES)}"
    )
    command.add_argument(
        "--picture",
        type=Path,
        metavar="FILE",
        help="draw spectrogram, fading and levels as a PNG file",
    )
    command.add_argument(
        "--audio-to",
        type=Path,
        metavar="DIR",
        help="write the sounds as WAV files there instead of playing them",
    )
    add_plan(command, items=1)


def run(options: argparse.Namespace) -> int:
    """Play, describe and draw. Raises: UserError, NoVoice, NoSoundCard."""
    from drill.cli.audio_out import Files, Speaker
    from drill.core.paths import record_file
    from drill.items.plan import compose_item
    from drill.items.render import receive_item
    from drill.listen.compare import delivered, versions
    from drill.records.store import Store
    from phonetics.callsigns import FICTION
    from phonetics.phrases import text_of

    plan = plan_from(options)
    item = compose_item(plan, 0)
    items = {"A": item}
    if options.without is not None:
        items["B"] = versions(item, [options.without])[options.without]
    output = Files(options.audio_to) if options.audio_to else Speaker()
    with Store(record_file()) as store:
        caution(store)
    sounds = {name: receive_item(one) for name, one in items.items()}
    print(f"{plan.conditions.sentence}, seed {plan.seed}. The call is {FICTION.split(';')[0]}.")
    print(f"{item.operator.name} says: {text_of(item.message)}")
    for name, heard in sounds.items():
        how = f"without {options.without}" if name == "B" else "as it is"
        print(f"{name}, {how}: {delivered(heard).sentence}")
    if options.picture:
        _draw(options.picture, items, sounds, options.without)
    _play(output, sounds)
    return 0


def _draw(
    path: Path, items: "dict[str, Item]", sounds: "dict[str, ReceivedAudio]", stage: str | None
) -> None:
    from drill.listen.plot import Panel, draw

    panels = [
        Panel(
            title=f"B, without {stage}" if name == "B" else "A, as it is",
            clip=sounds[name].clip,
            conditions=item.conditions,
            seed=item.seed,
        )
        for name, item in items.items()
    ]
    for line in draw(path, panels):
        print(line)
    print(f"The picture is in {path}")


def _play(output: "Output", sounds: "dict[str, ReceivedAudio]") -> None:
    """Play every sound once, then as often as is asked for."""
    import sys

    for name, heard in sounds.items():
        said = output.play(heard.clip, name)
        print(said or f"Playing {name}.")
        output.wait()
    keys = " ".join(f"{name.lower()}: hear {name} again." for name in sounds)
    while sys.stdin.isatty() and output.plays:
        choice = input(f"{keys} Enter: finish. ").strip().upper()
        output.stop()
        if not choice:
            return
        if choice in sounds:
            output.play(sounds[choice].clip, choice)
        else:
            print(f"{choice.lower()!r} is none of them.")
