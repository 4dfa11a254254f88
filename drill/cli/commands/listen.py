"""faintcall listen: hear, measure and plot conditions, with and without one stage of the
channel."""

import argparse
import sys
from collections.abc import Mapping
from pathlib import Path

from drill.cli.audio_out import AudioOutput, open_output
from drill.cli.caution import confirm_caution
from drill.cli.options import add_plan_options, plan_from
from drill.core.conditions import STAGES
from drill.core.errors import NoSoundCard
from drill.core.models import Clip, Item
from drill.core.paths import record_file
from drill.items.plan import compose_item
from drill.items.render import receive_item
from drill.listen.compare import item_without_stage
from drill.listen.describe import describe_delivery, describe_picture
from drill.listen.figures import measure_audio
from drill.listen.plot import Panel, check_picture_name, save_picture
from drill.records.store import Store
from phonetics.callsign_mixes import FICTION_NOTICE
from phonetics.phrases import spoken_text

EXAMPLES = """examples:
  faintcall listen --conditions aurora
  faintcall listen --conditions busy-weekend --without neighbours --picture weekend.png
  faintcall listen --snr 3 --processing clipped --without processing

With --without you hear the same over twice: A as chosen, B without that stage. Everything else,
such as fading, noise and neighbours, is the same. The picture shows spectrogram, fading and levels.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall listen`."""
    command.description = (
        "Hear one over under chosen conditions, with and without one stage of the channel."
    )
    command.epilog = EXAMPLES
    command.add_argument(
        "--without", metavar="STAGE", help=f"stage to leave out of B: {', '.join(STAGES)}"
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
        help="write WAV files into this folder instead of playing the sounds",
    )
    add_plan_options(command, items=1)


def run(options: argparse.Namespace) -> int:
    """Describe, plot and play the over; without a sound card, the picture is still written.

    Raises: UserError, NoVoice; NoSoundCard unless a picture was requested.
    """
    if options.picture:
        check_picture_name(options.picture)
    plan = plan_from(options)
    item = compose_item(plan, 0)
    variants = {"A": ("as chosen", item)}
    if options.without is not None:
        variant = item_without_stage(item, options.without)
        variants["B"] = (f"without {options.without}", variant)
    output, problem = None, ""
    try:
        output = open_output(options.audio_to)
    except NoSoundCard as error:
        if not options.picture:
            raise
        problem = str(error)
    if output is not None:
        with Store(record_file()) as store:
            confirm_caution(store)
    print(f"{plan.conditions.sentence}, seed {plan.seed}. All calls are {FICTION_NOTICE}.")
    print(f"{item.operator.name} says: {spoken_text(item.message)}")
    panels = _describe_variants(variants, with_picture=bool(options.picture))
    clips = {name: panel.clip for name, panel in panels.items()}
    if output is not None:
        _play(output, clips)
    if options.picture:  # drawing takes several times as long as rendering
        save_picture(options.picture, list(panels.values()))
        print(f"The picture is in {options.picture}")
    if output is None:
        print(f"{problem}.")
    else:
        _offer_replays(output, clips)
    return 0


def _describe_variants(
    variants: Mapping[str, tuple[str, Item]], *, with_picture: bool
) -> dict[str, Panel]:
    """Render the variants and print their measurements; return their panels by name."""
    panels = {}
    for name, (difference, item) in variants.items():
        received = receive_item(item)
        figures = measure_audio(received, item.conditions, item.seed)
        title = f"{name}, {difference}"
        print(f"{title}: {describe_delivery(figures)}")
        if with_picture:
            print(f"{title}: {describe_picture(figures)}")
        panels[name] = Panel(
            title=title, clip=received.clip, conditions=item.conditions, seed=item.seed
        )
    return panels


def _play(output: AudioOutput, clips: Mapping[str, Clip]) -> None:
    """Play each clip once."""
    for name, clip in clips.items():
        print(output.play(clip, name) or f"Playing {name}.")
        output.wait()


def _offer_replays(output: AudioOutput, clips: Mapping[str, Clip]) -> None:
    """Play clips again at the user's request."""
    keys = ", ".join(f"{name.lower()}: play {name} again" for name in clips)
    while sys.stdin.isatty() and output.plays:
        key = input(f"{keys}, Enter: finish. ").strip()
        output.stop()
        if not key:
            return
        if key.upper() in clips:
            output.play(clips[key.upper()], key.upper())
        else:
            names = " or ".join(name.lower() for name in clips)
            print(f"Unknown key {key!r}. Press Enter or {names}.")
