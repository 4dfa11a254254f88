"""faintcall speak: say a prompt, get a review, and hear how it arrives at the far end."""

import argparse
import secrets
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

from drill.cli.audio_out import AudioOutput, SoundCardOutput
from drill.cli.caution import confirm_caution
from drill.cli.options import (
    add_exchange_option,
    add_own_call_option,
    add_path_snr_option,
    add_preset_option,
    add_seed_option,
)
from drill.cli.speak_dialogue import FileSource, SpeakDialogue, print_prompt
from drill.cli.speak_microphone import MicrophoneSource
from drill.cli.speak_session import SpeakSession
from drill.core.audio_files import make_folder
from drill.core.conditions import Conditions
from drill.core.counting import plural
from drill.core.errors import NoMicrophone, NoRecogniser, UserError
from drill.core.paths import data_folder, record_file
from drill.devices.microphone import Microphone
from drill.radio.presets import load_preset
from drill.recogniser import find_recogniser
from drill.records.store import Store
from drill.sending.enrolled_voices import take_recogniser
from drill.sending.far_end import FAR_END_WATTS, far_end_conditions
from drill.sending.history import recent_reviews
from drill.sending.models import Prompt
from drill.sending.own_station import OwnStation, update_own_station
from drill.sending.prompts import PROMPT_KINDS, choose_prompt, compose_prompt
from drill.session.options import DEFAULT_PATH_SNR_DB

SEED_LIMIT = 1_000_000
_EPILOG = """examples:
  faintcall speak --call E87ABC --exchange serial  prompt after prompt, with the microphone
  faintcall speak                                  again: call and exchange are stored
  faintcall speak --prompt answer --audio-to DIR   write the far end to files
  faintcall speak --prompt call --seed 5 --take my-call.wav
  faintcall speak --list

Nothing is recorded before you press Enter. --take reviews a file instead of the microphone, WAV or
FLAC at 16 kHz or more, and needs the seed of the prompt that it answers. The review is stored in
your record; the recording is saved only with --keep-takes.

This is practice at home: nothing is transmitted, and no recording belongs on the air. Transmit only
with a licence and under the rules of your country.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall speak`."""
    command.description = (
        "Practise sending: say a prompt, and learn which words were recognised, how your voice "
        "sounds, and how it arrives at the far end at 100, 20 and 5 W."
    )
    command.epilog = _EPILOG
    command.add_argument("--list", action="store_true", help="list the kinds of prompts and exit")
    _add_prompt_options(command.add_argument_group("the prompts"))
    _add_far_end_options(command.add_argument_group("the far end"))
    command.add_argument(
        "--take",
        type=Path,
        metavar="FILE",
        help="review this file, WAV or FLAC, instead of using the microphone",
    )
    command.add_argument(
        "--keep-takes",
        type=Path,
        metavar="DIR",
        help="save your recordings as FLAC files in this folder (default: discard them)",
    )


def _add_prompt_options(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--prompt",
        metavar="KIND",
        help="kind of prompt; --list names them (default: random, more often those that went "
        "badly)",
    )
    add_own_call_option(group)
    add_exchange_option(group, None, "the last one given; serial at first")
    add_seed_option(group, "prompts")


def _add_far_end_options(group: argparse._ArgumentGroup) -> None:
    add_preset_option(group)
    add_path_snr_option(group, DEFAULT_PATH_SNR_DB, "SNR in 3 kHz at the far end at 100 W")
    group.add_argument(
        "--audio-to",
        type=Path,
        metavar="DIR",
        help="write your take and the reference voice, as they sound at the far end, to this "
        "folder",
    )


def run(options: argparse.Namespace) -> int:
    """Present prompts and review the takes; return the exit code.

    Raises: UserError, NoRecogniser, NoMicrophone, NoVoice.
    """
    if options.list:
        print("Kinds of prompts (--prompt):")
        for name, kind in PROMPT_KINDS.items():
            print(f"  {name:12}  {kind.description}")
        return 0
    if options.take is not None and options.seed is None:
        raise UserError("--take needs --seed, the seed of the prompt that the recording answers")
    with Store(record_file()) as store:
        return _practise(options, store)


def _practise(options: argparse.Namespace, store: Store) -> int:
    """Review the given file, or run a session with the microphone; return the exit code."""
    station = update_own_station(store, options.call, options.exchange, data_folder() / "exchanges")
    conditions = load_preset(options.conditions, data_folder() / "conditions").conditions
    _check_path_snr(conditions, options.path_snr)
    prompts = _prompts(station, store, options.prompt, options.seed)
    dialogue = SpeakDialogue(
        store=store,
        source=MicrophoneSource() if options.take is None else FileSource(options.take),
        conditions=conditions,
        path_snr_db=options.path_snr,
        far_end_folder=options.audio_to,
        take_folder=options.keep_takes,
        exchange=station.exchange,
        recogniser=take_recogniser(store),
    )
    if options.take is None:
        return _run_session(dialogue, prompts)
    prompt = next(prompts)
    print_prompt(prompt)
    dialogue.run(prompt)
    return 0


def _check_path_snr(conditions: Conditions, path_snr_db: float) -> None:
    """Raise UserError if the SNR is out of range at any power, before anything is recorded."""
    for watts in FAR_END_WATTS:
        try:
            far_end_conditions(conditions, path_snr_db, watts)
        except UserError as error:
            raise UserError(f"at {watts:g} W, {error}", field="path_snr_db") from None


def _prompts(
    station: OwnStation, store: Store, kind: str | None, seed: int | None
) -> Iterator[Prompt]:
    """Yield prompts endlessly. kind: None to draw it. seed: of the first, None for a new one."""
    seed = secrets.randbelow(SEED_LIMIT) if seed is None else seed
    while True:
        if kind is None:
            yield choose_prompt(station, seed, recent_reviews(store))
        else:
            yield compose_prompt(kind, station, seed)
        seed += 1


def _run_session(dialogue: SpeakDialogue, prompts: Iterator[Prompt]) -> int:
    """Run a session with the microphone; return 1 if it ends because the microphone failed.

    Raises: NoRecogniser or NoMicrophone before anything is recorded; UserError.
    """
    first_prompt = next(prompts)
    _check_machine(first_prompt)
    for folder in (dialogue.far_end_folder, dialogue.take_folder):
        if folder is not None:
            make_folder(folder)
    all_prompts = chain([first_prompt], prompts)

    def open_speaker() -> AudioOutput:
        speaker = SoundCardOutput()
        confirm_caution(dialogue.store)
        return speaker

    session = SpeakSession(
        dialogue=dialogue, next_prompt=lambda: next(all_prompts), open_speaker=open_speaker
    )
    try:
        session.run()
    except EOFError:
        print()
    finally:
        print(f"\n{plural(session.reviewed, 'take')} reviewed; the reviews are in your record.")
    return 1 if session.failed else 0


def _check_machine(first_prompt: Prompt) -> None:
    """Check that recogniser and microphone work; without a microphone, explain how to use a file.

    Raises: NoRecogniser, NoMicrophone.
    """
    problem = find_recogniser().problem()
    if problem:
        raise NoRecogniser(problem)
    try:
        Microphone().close()
    except NoMicrophone:
        print_prompt(first_prompt)
        print("Record it with any program as WAV or FLAC, then have the file reviewed:")
        print(
            f"faintcall speak --prompt {first_prompt.kind} --seed {first_prompt.seed} --take FILE"
        )
        raise
