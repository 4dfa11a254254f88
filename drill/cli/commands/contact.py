"""faintcall contact: whole contacts with stations that hear you only in part."""

import argparse
from datetime import UTC, datetime
from pathlib import Path

from drill.cli.audio_out import AudioOutput, open_output
from drill.cli.caution import confirm_caution
from drill.cli.contact_clock import ContactClock, RunningClock, TurnClock
from drill.cli.contact_dialogue import ContactDialogue
from drill.cli.contact_ending import ContactEnding
from drill.cli.contact_microphone import record_over
from drill.cli.line_reader import LineReader
from drill.cli.options import (
    DEFAULTS,
    add_call_mix_options,
    add_condition_options,
    add_exchange_option,
    add_own_call_option,
    add_seed_option,
    add_voice_options,
    session_options_from,
)
from drill.cli.tables import print_blocks
from drill.cli.wrapping import print_text
from drill.contact.machine_ears import has_far_recogniser
from drill.contact.review import render_contact
from drill.contact.sessions import ContactSession
from drill.contact.setup import (
    DEFAULT_CONDITIONS,
    DEFAULT_COUNT,
    EARS,
    OFFERED_CALL,
    ContactOptions,
    create_setup,
)
from drill.contact.wording import session_block
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.paths import data_folder, record_file
from drill.records.store import Store
from drill.sending.own_station import load_own_station, stored_own_station, update_own_station
from phonetics.callsign_mixes import FICTION_NOTICE

EPILOG = """Ten stations, one after another. Each has its own strength, fading, hearing and habits,
and may have other callers. You hear the general call, answer, are heard in part, correct the rest,
copy the exchange, send yours, and log. Then both logs are compared. Nothing is transmitted.

examples:
  faintcall contact --call E87ABC
  faintcall contact --stations 3 --watts 100 --path-snr 10 --exchange zone-amateur
  faintcall contact --ladder --stations 5
  faintcall contact --continue
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    command.description = "Make whole contacts with stations that hear you only in part."
    command.epilog = EPILOG
    add_own_call_option(command)
    command.add_argument(
        "--stations",
        dest="items",
        type=int,
        metavar="N",
        help=f"number of stations (default: {DEFAULT_COUNT})",
    )
    command.add_argument(
        "--ladder",
        action="store_true",
        help="meet every station at 100, 20 and 5 W, in mixed order",
    )
    command.add_argument(
        "--own-voice", default="", metavar="NAME", help="operator that speaks for you"
    )
    command.add_argument(
        "--ears",
        choices=EARS,
        help="the far operator's ears: recogniser hears the sound itself, model computes what is "
        "copied from the SNR (default: recogniser if it is installed)",
    )
    _add_station_options(command.add_argument_group("stations"))
    conditions = command.add_argument_group("how it sounds")
    add_condition_options(conditions)
    _add_session_options(command)
    command.set_defaults(
        conditions=DEFAULT_CONDITIONS, part=DEFAULTS.part, until=None, what=None, values=()
    )


def _add_station_options(group: argparse._ArgumentGroup) -> None:
    add_exchange_option(group, None, "yours, or serial")
    add_call_mix_options(group)
    add_voice_options(group)
    add_seed_option(group, "stations")


def _add_session_options(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--audio-to",
        type=Path,
        metavar="DIR",
        help="write the sounds into this folder instead of playing them; time then passes turn by "
        "turn: Enter on an empty line lets five seconds pass",
    )
    command.add_argument(
        "--continue", dest="resume", action="store_true", help="continue the last session"
    )
    command.add_argument("--replay", action="store_true", help="replay the last session")


def run(options: argparse.Namespace) -> int:
    """Run the command; return its exit code."""
    with Store(record_file()) as store:
        output = open_output(options.audio_to)
        if options.replay:
            _replay(store, output)
            return 0
        session = ContactSession.resume(store) if options.resume else None
        confirm_caution(store)
        reader = LineReader()
        if session is None:
            session = _begin(options, store, reader)
        _run(session, output, reader)
        if session.results:
            print_blocks([session_block(session.results)])
        if not session.is_finished:
            print_text("\nEverything so far is saved. Continue with: faintcall contact --continue")
    return 0


def _begin(options: argparse.Namespace, store: Store, reader: LineReader) -> ContactSession:
    """Begin a session. Raises: UserError for wrong options; NoVoice."""
    stored_call, stored_exchange = stored_own_station(store)
    options.exchange = options.exchange or stored_exchange
    call = options.call or stored_call or _offer_call(reader)
    ears = options.ears or EARS[0 if has_far_recogniser() else 1]
    setup = create_setup(
        session_options_from(options),
        ContactOptions(call=call, voice=options.own_voice, ears=ears, ladder=options.ladder),
    )
    load_own_station(setup.own_call, setup.plan.exchange, data_folder() / "exchanges")
    if options.call or call != OFFERED_CALL:
        folder = data_folder() / "exchanges"
        update_own_station(store, setup.own_call, setup.plan.exchange, folder)
    print_text(
        f"{plural(setup.count, 'contact')} as {setup.own_call}, spoken by {setup.voice}: "
        f"{setup.plan.conditions.sentence_without_snr}, 100 W give {setup.path_mean_db:g} dB at "
        f"the far end on average, seed {setup.plan.seed}. Calls are {FICTION_NOTICE}."
    )
    if ears != EARS[0]:
        print_text("A model, not a recogniser, decides what the far operators copy.")
    return ContactSession.begin(setup, store, now=datetime.now(UTC))


def _offer_call(reader: LineReader) -> str:
    """Ask for the user's call; offer one that cannot be assigned."""
    while True:
        typed = reader.ask(
            f"Your call? Enter on an empty line: {OFFERED_CALL}, which no administration can "
            "assign. "
        ).strip()
        if not typed:
            return OFFERED_CALL
        try:
            load_own_station(typed, "serial", data_folder() / "exchanges")
        except UserError as error:
            print_text(f"{error}.")
            continue
        return typed


def _run(session: ContactSession, output: AudioOutput, reader: LineReader) -> None:
    clock: ContactClock = RunningClock() if output.plays else TurnClock()
    dialogue = ContactDialogue(
        session, output, reader=reader, clock=clock, record=lambda: record_over(reader)
    )
    try:
        dialogue.run()
    except (KeyboardInterrupt, EOFError):
        print()
    finally:
        output.stop()


def _replay(store: Store, output: AudioOutput) -> None:
    """Replay the finished contacts of the last session. Raises: UserError."""
    newest = store.contact_sessions(1)
    if not newest or not newest[0].finished:
        raise UserError("there is no finished contact to replay; start with: faintcall contact")
    for number in range(newest[0].finished):
        session = ContactSession.load(store, newest[0], number=number)
        print_text(f"\nStation {number + 1} of {session.setup.count}")
        ending = ContactEnding(session, output, None)
        ending.print_overs()
        message = output.play(render_contact(session.contact), f"station-{number + 1:02d}")
        print_text(message or "Playing.", flush=True)
        output.wait()
        ending.show()
