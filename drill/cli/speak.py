"""faintcall speak: say it, and be told what a listener heard and what the channel leaves of it."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from drill.cli.options import Commands

if TYPE_CHECKING:
    from drill.records.store import Store

EXAMPLES = """examples:
  faintcall speak --list
  faintcall speak --call E87ABC --exchange serial --seed 5
  faintcall speak --prompt call --seed 5 --take my-call.wav
  faintcall speak --prompt answer --seed 5 --take mine.wav --audio-to far-end

Without --take it says what is to be said for a seed; record that with any program, as WAV or FLAC,
at a rate of 16 kHz or more, and give the file to the same line with --take. Call and exchange are
kept as given last. What was found in a take is kept in your own record, its sound only with
--keep-takes.

This is practice at home: nothing is transmitted, and no take belongs on the air. Transmit only with
a licence and under the rules of your country.
"""


def add(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the command."""
    command = commands.add_parser(
        "speak",
        help="practise sending: say a call or an exchange, be told what was heard",
        description="Practise sending: say what is asked for, and be told what was heard, how it "
        "sounds, and what the channel leaves of it at 100, 20 and 5 W.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.add_argument("--list", action="store_true", help="list the kinds of prompts and stop")
    command.add_argument(
        "--take", type=Path, metavar="FILE", help="the recording of what was said, WAV or FLAC"
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
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Ask, and review what was said. Raises: UserError, NoListener, NoVoice."""
    from drill.folders import record_file
    from drill.records.store import Store

    if options.list:
        return _list()
    with Store(record_file()) as store:
        return _speak(options, store)


def _list() -> int:
    from drill.speaking.prompts import KINDS

    print("Prompts (--prompt):")
    for name, (what, _) in KINDS.items():
        print(f"  {name:12}  {what}")
    return 0


def _speak(options: argparse.Namespace, store: "Store") -> int:
    import secrets

    from drill.cli.speak_dialogue import FileSource, Round, say_prompt
    from drill.errors import UserError
    from drill.folders import data_folder
    from drill.radio.budget import watts_to_snr
    from drill.radio.presets import preset
    from drill.speaking.own import own_station
    from drill.speaking.past import remembered
    from drill.speaking.prompts import choose, prompt

    at = own_station(store, options.call, options.exchange, data_folder() / "exchanges")
    conditions = preset(options.conditions, data_folder() / "conditions").conditions
    watts_to_snr(options.path_snr, 100.0)
    if options.take and options.seed is None:
        raise UserError("--take needs the --seed that the prompt was given with")
    seed = secrets.randbelow(1_000_000) if options.seed is None else options.seed
    asked = (
        choose(at, seed, remembered(store)) if options.prompt is None
        else prompt(options.prompt, at, seed)
    )  # fmt: skip
    say_prompt(asked)
    if options.take is None:
        print(f"Record it, then: --prompt {asked.kind} --seed {seed} --take FILE")
        return 0
    round_ = Round(
        store=store,
        source=FileSource(options.take),
        conditions=conditions,
        path_snr_db=options.path_snr,
        folder=options.audio_to,
        takes=options.keep_takes,
    )
    round_.run(asked)
    return 0
