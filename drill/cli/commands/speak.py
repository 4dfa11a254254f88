"""faintcall speak: say it, and be told what a listener heard and what the channel leaves of it."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drill.cli.speak_dialogue import Round
    from drill.records.store import Store
    from drill.sending.models import Prompt
    from drill.sending.prompts import Station

EXAMPLES = """examples:
  faintcall speak --call E87ABC --exchange serial  prompt after prompt, with the microphone
  faintcall speak                                  once more: call and exchange are remembered
  faintcall speak --prompt answer --audio-to DIR   the far end as files, without a sound card
  faintcall speak --prompt call --seed 5 --take my-call.wav
  faintcall speak --list

Nothing is recorded before you press Enter. --take reviews a file in place of the microphone, WAV or
FLAC at 16 kHz or more; it wants the seed that the prompt was given with. What was found in a take
is kept in your own record, its sound only with --keep-takes.

This is practice at home: nothing is transmitted, and no take belongs on the air. Transmit only with
a licence and under the rules of your country.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall speak`."""
    command.description = (
        "Practise sending: say what is asked for, and be told what was heard, how it "
        "sounds, and what the channel leaves of it at 100, 20 and 5 W."
    )
    command.epilog = EXAMPLES
    command.add_argument("--list", action="store_true", help="list the kinds of prompts and stop")
    command.add_argument(
        "--take",
        type=Path,
        metavar="FILE",
        help="review this file, WAV or FLAC, instead of the microphone",
    )
    command.add_argument(
        "--prompt",
        metavar="KIND",
        help="what is asked for; --list names the kinds (default: drawn, what went badly sooner)",
    )
    command.add_argument("--call", metavar="CALL", help="your own call (default: as given last)")
    command.add_argument(
        "--exchange",
        metavar="NAME",
        help="the exchange that you give; `faintcall choices` lists them (default: as given last, "
        "at first serial)",
    )
    command.add_argument(
        "--seed", type=int, metavar="N", help="the same seed asks for the same (default: new)"
    )
    command.add_argument(
        "--conditions",
        default="plain",
        metavar="NAME",
        help="of the path to the far end; `faintcall choices` lists them (default: plain)",
    )
    command.add_argument(
        "--path-snr",
        type=float,
        default=10.0,
        metavar="DB",
        help="SNR in 3 kHz that 100 W give at the far end (default: 10)",
    )
    command.add_argument(
        "--audio-to",
        type=Path,
        metavar="DIR",
        help="write there how the take sounds at the far end, and the reference voice beside it",
    )
    command.add_argument(
        "--keep-takes",
        type=Path,
        metavar="DIR",
        help="keep what was said as FLAC files there (default: it is thrown away)",
    )


def run(options: argparse.Namespace) -> int:
    """Ask, and review what was said.

    Raises: UserError, NoRecogniser, NoMicrophone, NoVoice.
    """
    from drill.core.paths import record_file
    from drill.records.store import Store

    if options.list:
        return _list()
    with Store(record_file()) as store:
        return _speak(options, store)


def _list() -> int:
    from drill.sending.prompts import KINDS

    print("Prompts (--prompt):")
    for name, (what, _) in KINDS.items():
        print(f"  {name:12}  {what}")
    return 0


def _speak(options: argparse.Namespace, store: "Store") -> int:
    from drill.cli.speak_dialogue import FileSource, Round, say_prompt
    from drill.cli.speak_microphone import MicrophoneSource
    from drill.core.errors import UserError
    from drill.core.paths import data_folder
    from drill.linkbudget.budget import snr_from_watts
    from drill.radio.presets import load_preset
    from drill.sending.own_station import own_station

    at = own_station(store, options.call, options.exchange, data_folder() / "exchanges")
    conditions = load_preset(options.conditions, data_folder() / "conditions").conditions
    snr_from_watts(options.path_snr, 100.0)
    if options.take and options.seed is None:
        raise UserError("--take needs the --seed that the prompt was given with")
    prompts = _prompts(at, store, options.prompt, options.seed)
    round_ = Round(
        store=store,
        source=MicrophoneSource() if options.take is None else FileSource(options.take),
        conditions=conditions,
        path_snr_db=options.path_snr,
        folder=options.audio_to,
        takes=options.keep_takes,
    )
    if options.take is None:
        return _sit(round_, prompts)
    asked = next(prompts)
    say_prompt(asked)
    round_.run(asked)
    return 0


def _prompts(
    at: "Station", store: "Store", kind: str | None, seed: int | None
) -> "Iterator[Prompt]":
    """Give prompts without end, of one kind or by what was said badly; seed: of the first one."""
    import secrets

    from drill.sending.history import remembered
    from drill.sending.prompts import choose, prompt

    seed = secrets.randbelow(1_000_000) if seed is None else seed
    while True:
        if kind is None:
            yield choose(at, seed, remembered(store))
        else:
            yield prompt(kind, at, seed)
        seed += 1


def _sit(round_: "Round", prompts: "Iterator[Prompt]") -> int:
    """Practise with the microphone; return 1 where it ends for a lack of the machine.

    Raises: NoRecogniser or NoMicrophone before anything is recorded; UserError.
    """
    from itertools import chain

    from drill.cli.audio_out import Speaker
    from drill.cli.speak_sitting import Sitting
    from drill.core import audio_files

    first = next(prompts)
    _look(first)
    for folder in (round_.folder, round_.takes):
        if folder is not None:
            audio_files.make_folder(folder)
    following = chain([first], prompts)

    def speaker() -> Speaker:
        from drill.cli.caution import caution

        card = Speaker()
        caution(round_.store)
        return card

    sitting = Sitting(round=round_, following=lambda: next(following), speaker=speaker)
    try:
        sitting.run()
    except EOFError:
        print()
    finally:
        takes = "1 take" if sitting.reviewed == 1 else f"{sitting.reviewed} takes"
        print(f"\n{takes} reviewed; what was found is in your record.")
    return 1 if sitting.failed else 0


def _look(first: "Prompt") -> None:
    """See that there are a listener and a microphone; without the latter a file will do.

    Raises: NoRecogniser, NoMicrophone.
    """
    from drill.cli.speak_dialogue import say_prompt
    from drill.core.errors import NoMicrophone, NoRecogniser
    from drill.devices.microphone import Microphone
    from drill.recogniser import find_recogniser

    problem = find_recogniser().problem()
    if problem:
        raise NoRecogniser(problem)
    try:
        Microphone().close()
    except NoMicrophone:
        say_prompt(first)
        print("Record it with any program, as WAV or FLAC, and have the file reviewed:")
        print(f"faintcall speak --prompt {first.kind} --seed {first.seed} --take FILE")
        raise
