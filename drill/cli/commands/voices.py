"""faintcall voices: list the speech engines and operators, and add the studio voices."""

import argparse
import sys
import textwrap
from pathlib import Path

from drill.cli.audio_out import open_output
from drill.cli.caution import confirm_caution
from drill.cli.wrapping import print_text
from drill.core.errors import UserError
from drill.core.extras import InstallProgress
from drill.core.packages import pip_install_command
from drill.core.paths import cache_folder, record_file
from drill.items.plan import Plan, compose_item
from drill.items.render import render_clean
from drill.records.store import Store
from drill.session.studio_voices import (
    STUDIO_EXTRA,
    StudioOffer,
    add_studio_voices,
    offer_sentences,
    progress_sentence,
    speed_sentence,
    studio_offer,
)
from drill.voices.cache import SpeechCache, speech_cache
from drill.voices.diagnostics import EngineStatus, PackageStatus, engine_statuses
from drill.voices.engines.studio.voice_files import user_voices_folder
from phonetics.callsign_mixes import FICTION_NOTICE
from phonetics.phrases import spoken_text

EXAMPLES = """examples:
  faintcall voices
  faintcall voices --say boulder
  faintcall voices --say boulder --audio-to DIR
  faintcall voices --add studio
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
    action.add_argument(
        "--add",
        choices=(STUDIO_EXTRA,),
        help="install more voices with pip, and measure how quickly this computer speaks with them",
    )
    command.add_argument(
        "--yes",
        action="store_true",
        help="with --add: also install into an environment that other programs may use",
    )
    command.add_argument(
        "--audio-to", type=Path, metavar="DIR", help="with --say: write a WAV file to DIR instead"
    )


def run(options: argparse.Namespace) -> int:
    """List the engines, play a sample, add voices or clear the cache; return the exit code.

    Raises: UserError, ResourceUnavailable.
    """
    if options.audio_to and not options.say:
        raise UserError("--audio-to works only together with --say NAME")
    if options.yes and not options.add:
        raise UserError("--yes works only together with --add studio")
    if options.clear_cache:
        return _clear_cache()
    if options.add:
        return _add_studio_voices(allow_shared=options.yes)
    return _play_sample(options.say, options.audio_to) if options.say else _list_engines()


def _list_engines() -> int:
    statuses = engine_statuses()
    for status in statuses:
        print_text(engine_line(status))
        for message in status.unusable_files:
            print_text(f"  Cannot be used: {message}")
        print_text(_operator_lines(status))
    offer = studio_offer()
    print_text(_wrapped(" ".join(offer_sentences(offer))))
    if not offer.is_complete and not (offer.refusal and not offer.installed):
        act = "Measure that with" if offer.installed else "Add them with"
        print_text(f"{act}: faintcall voices --add studio")
    print_text(f"Add studio voices of your own as NAME.bin or NAME.npy to {user_voices_folder()}")
    print_text(_cache_line(_speech_cache()))
    working = [status.name for status in statuses if not status.problem]
    print_text(f"{len(working)} of {len(statuses)} engines can speak on this computer.")
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


def _wrapped(text: str) -> str:
    return textwrap.fill(text, _LINE_WIDTH, break_on_hyphens=False, break_long_words=False)


def _add_studio_voices(*, allow_shared: bool) -> int:
    offer = studio_offer()
    if not offer.installed:
        print_text(_wrapped(" ".join(offer_sentences(offer))))
        allow_shared = allow_shared or _agrees_to_shared(offer)
    for step in add_studio_voices(allow_shared=allow_shared):
        if isinstance(step, InstallProgress):
            _show_progress(progress_sentence(step))
        else:
            _end_progress()
            print_text(_wrapped(f"The studio voices are installed. {speed_sentence(step)}"))
    return 0


def _agrees_to_shared(offer: StudioOffer) -> bool:
    """Ask before packages enter an environment that other programs may use.

    Raises: UserError if the user does not agree, or if nobody can be asked.
    """
    if not offer.shared or offer.refusal:
        return False
    if not sys.stdin.isatty():
        raise UserError("nobody can be asked here; add --yes to install into this environment")
    if input("Add the packages to this environment? [y/N] ").strip().lower() not in ("y", "yes"):
        raise UserError("nothing was installed")
    return True


def _show_progress(sentence: str) -> None:
    """Show a step in a line that the next step replaces; print nothing without a terminal."""
    if sys.stdout.isatty():
        print(f"\r{sentence:<{_LINE_WIDTH}}", end="", flush=True)


def _end_progress() -> None:
    if sys.stdout.isatty():
        print(f"\r{'':<{_LINE_WIDTH}}\r", end="")


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
    print_text(f"Deleted {files} {noun} from the speech cache, {size / 1e6:.1f} MB.")
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
    print_text(f"{name} says: {spoken_text(item.message)}. The call is {notice}.")
    if message := output.play(clip, name):
        print_text(message)
    output.wait()
    return 0
