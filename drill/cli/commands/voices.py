"""faintcall voices: which voices there are, whether they work, and what is missing."""

import argparse
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drill.voices.diagnostics import Engine, Package

EXAMPLES = """examples:
  faintcall voices
  faintcall voices --say boulder
  faintcall voices --say boulder --audio-to DIR
  faintcall voices --clear-cache

The exit code is 0 where at least one engine can speak, else 1.
"""
WIDTH = 96
SEED = 1  # of what is said: the same over by every voice, so that they can be compared


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall voices`."""
    command.description = (
        "List the engines of speech and their operators, and check that they work."
    )
    command.epilog = EXAMPLES
    what = command.add_mutually_exclusive_group()
    what.add_argument(
        "--say", metavar="NAME", help="have one operator say a short fictional over, without noise"
    )
    what.add_argument(
        "--clear-cache",
        action="store_true",
        help="delete the speech that is kept to be used again; it is made anew when needed",
    )
    command.add_argument(
        "--audio-to", type=Path, metavar="DIR", help="with --say: write a WAV file there instead"
    )


def run(options: argparse.Namespace) -> int:
    """List, say or clear."""
    from drill.core.errors import UserError

    if options.audio_to and not options.say:
        raise UserError("--audio-to goes with --say NAME")
    if options.clear_cache:
        return _clear()
    return _say(options.say, options.audio_to) if options.say else _list()


def _list() -> int:
    from drill.voices.diagnostics import engines
    from drill.voices.engines.studio import voice_files

    found = engines()
    for engine in found:
        print(described(engine))
        for line in engine.bad:
            print(f"  Not used: {line}")
        print(_operators(engine))
    print(f"More voices of the studio engine, NAME.bin or NAME.npy, in {voice_files.folder()}")
    print(_cached())
    working = [engine.name for engine in found if not engine.problem]
    print(f"{len(working)} of {len(found)} engines can speak here.")
    return 0 if working else 1


def described(engine: "Engine") -> str:
    """Return whether an engine works, its packages and its model, in a line."""
    parts = [f"{engine.name}: {engine.problem or 'works'}"]
    states: dict[str, list[str]] = {}
    for package in engine.packages:
        states.setdefault(_state(package), []).append(package.name)
    parts += [f"{', '.join(names)} {state}" for state, names in states.items()]
    if engine.digest_checked:
        parts.append("digest of the model right")
    return "; ".join(parts) + "."


def _state(package: "Package") -> str:
    if package.version == "none":
        return "not installed"
    if not package.right:
        from drill.core.errors import pip_install_command

        fix = pip_install_command(f"{package.name}=={package.pinned}")
        return f"{package.version}, but pinned is {package.pinned}: {fix}"
    return f"{package.version} as pinned" if package.pinned else package.version


def _operators(engine: "Engine") -> str:
    """Return the names of an engine's operators, in lines."""
    names = ", ".join(each.name + (" (hard)" if each.hard else "") for each in engine.operators)
    if engine.others:
        names += f"; {engine.others} more in other languages, system-NAME"
    return textwrap.fill(
        f"{len(engine.operators)} operators{': ' if names else ''}{names}.",
        WIDTH,
        initial_indent="  ",
        subsequent_indent="    ",
        break_on_hyphens=False,
    )


def _cached() -> str:
    from drill.core.paths import cache_folder
    from drill.voices.cache import clips_in

    cache = clips_in(cache_folder() / "speech")
    clips, size = cache.size()
    return (
        f"Speech that is kept: {clips} {'over' if clips == 1 else 'overs'}, {size / 1e6:.1f} MB "
        f"of at most {cache.limit_bytes / 1e6:.0f} MB, in {cache.folder}"
    )


def _clear() -> int:
    from drill.core.paths import cache_folder
    from drill.voices.cache import clips_in

    files, size = clips_in(cache_folder() / "speech").clear()
    print(f"Deleted {files} {'file' if files == 1 else 'files'} of speech, {size / 1e6:.1f} MB.")
    return 0


def _say(name: str, folder: Path | None) -> int:
    from drill.cli.audio_out import Files, Output, Speaker
    from drill.cli.caution import caution
    from drill.core.paths import record_file
    from drill.items.plan import Plan, compose_item
    from drill.items.render import render_clean
    from drill.records.store import Store
    from phonetics.callsigns import FICTION
    from phonetics.phrases import text_of

    plan = Plan(seed=SEED, part="over", exchange="zone-itu", mix="unassigned", voices=(name,))
    item = compose_item(plan, 0)
    output: Output = Files(folder) if folder else Speaker()
    with Store(record_file()) as store:
        caution(store)
    clip = render_clean(item)
    print(f"{name} says: {text_of(item.message)}. The call is {FICTION.split(';')[0]}.")
    if said := output.play(clip, name):
        print(said)
    output.wait()
    return 0
