"""faintcall hunt: an hour on a crowded band."""

import argparse
import threading
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from drill.cli.audio_out import open_output
from drill.cli.caution import confirm_caution
from drill.cli.contact_microphone import record_over
from drill.cli.hunt_club import print_club
from drill.cli.hunt_dialogue import HuntDialogue, HuntState
from drill.cli.hunt_ending import HuntEnding
from drill.cli.hunt_player import FilePlayer, HuntPlayer, SoundCardPlayer
from drill.cli.line_reader import LineReader
from drill.cli.options import (
    DEFAULTS,
    add_call_mix_options,
    add_exchange_option,
    add_own_call_option,
    add_preset_option,
    add_reception_options,
    add_seed_option,
    add_voice_options,
    comma_separated,
    session_options_from,
)
from drill.contact.machine_ears import has_far_recogniser, recognised_text
from drill.contact.setup import DEFAULT_CONDITIONS, OFFERED_CALL
from drill.core.errors import FaintcallError
from drill.core.models import Clip
from drill.core.paths import data_folder, record_file
from drill.hunt.acts import END, HuntAct
from drill.hunt.sessions import HuntSession
from drill.hunt.setup import (
    DEFAULT_BAND,
    DEFAULT_MINUTES,
    HuntOptions,
    HuntSetup,
    create_hunt_setup,
)
from drill.hunt.stream import HuntStream
from drill.hunt.worker_speech import shared_worker_speech
from drill.records.store import Store
from drill.sending.own_station import load_own_station, stored_own_station, update_own_station
from phonetics.callsign_mixes import FICTION_NOTICE

EPILOG = """Tune over a band, choose a station, wait for its call, call it, copy, log, move on.
At the end both logs are compared. Nothing is transmitted.

examples:
  faintcall hunt --call E87ABC
  faintcall hunt --bands open,nearly-dead --minutes 20 --watts 100
  faintcall hunt --seed 2026 --minutes 30
  faintcall hunt --continue
  faintcall hunt --end
  faintcall hunt --compare anna.csv ben.csv
"""


HOW_TO_GO_ON = """
Everything so far is saved. Continue with: faintcall hunt --continue
End the hunt and compare the logs with: faintcall hunt --end"""
NOT_TAKEN = {
    "items": None,
    "snr": None,
    "path_snr": None,
    "processing": None,
    "off_frequency": None,
    "until": None,
    "what": None,
    "values": (),
}
"""Options of other sessions that a hunt does not take, because they follow from the band."""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    command.description = "Hunt stations on a crowded band for an hour."
    command.epilog = EPILOG
    add_own_call_option(command)
    command.add_argument(
        "--bands",
        type=comma_separated,
        default=(DEFAULT_BAND,),
        metavar="A,B",
        help=f"one to three kinds of band: jammed, open, nearly-dead, closing (default: "
        f"{DEFAULT_BAND})",
    )
    command.add_argument(
        "--minutes",
        type=float,
        default=DEFAULT_MINUTES,
        metavar="N",
        help=f"length, 10 to 120 minutes (default: {DEFAULT_MINUTES:g})",
    )
    command.add_argument("--watts", type=float, metavar="W", help="your power (default: 5)")
    command.add_argument(
        "--weekend",
        type=float,
        default=HuntOptions().weekend,
        metavar="X",
        help="how far the contest has come: 0 is its first evening, 1 its last hour "
        f"(default: {HuntOptions().weekend:g})",
    )
    command.add_argument(
        "--own-voice", default="", metavar="NAME", help="operator that speaks for you"
    )
    group = command.add_argument_group("stations")
    add_exchange_option(group, None, "yours, or serial")
    add_call_mix_options(group)
    add_voice_options(group)
    add_seed_option(group, "stations and all their actions")
    add_preset_option(group, ", for noise, fading and receiver")
    add_reception_options(group)
    _add_other_options(command)
    command.set_defaults(conditions=DEFAULT_CONDITIONS, part=DEFAULTS.part, **NOT_TAKEN)


def _add_other_options(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--audio-to",
        type=Path,
        metavar="DIR",
        help="write what you hear into a file in this folder instead of playing it; time then "
        "passes turn by turn: Enter on an empty line lets five seconds pass",
    )
    last = command.add_mutually_exclusive_group()
    last.add_argument(
        "--continue", dest="resume", action="store_true", help="continue the last hunt"
    )
    last.add_argument(
        "--end", action="store_true", help="end the last hunt now, and compare the logs"
    )
    command.add_argument(
        "--compare",
        nargs="+",
        type=Path,
        default=(),
        metavar="FILE",
        help="compare hunts of several people on the same band, from their exports",
    )


def run(options: argparse.Namespace) -> int:
    """Run the command; return its exit code."""
    if options.compare:
        print_club(options.compare)
        return 0
    if options.end:
        _end_last_hunt(options.audio_to)
        return 0
    with Store(record_file()) as store:
        player = _open_player(options.audio_to)
        try:
            identity, setup = _chosen_hunt(options, store)
            confirm_caution(store)
            reader = LineReader()
            session = _play(identity, setup, player, reader)
        finally:
            player.close()
        if isinstance(player, FilePlayer) and player.last is not None:
            print(f"The sound is in {player.path}")
        if session is None:
            print(HOW_TO_GO_ON)
            return 0
        session.follow(store)
        _show_end(session, options.audio_to, reader)
    return 0


def _end_last_hunt(audio_to: Path | None) -> None:
    """End the last hunt where it stopped, and show both logs. Raises: UserError."""
    with Store(record_file()) as store:
        session = HuntSession.resume(store, speech=shared_worker_speech())
        session.act(HuntAct(at=session.live.now, kind=END))
        _show_end(session, audio_to, LineReader())


def _show_end(session: HuntSession, audio_to: Path | None, reader: LineReader) -> None:
    with suppress(KeyboardInterrupt, EOFError):
        HuntEnding(session, open_output(audio_to), reader).run()


def _open_player(folder: Path | None) -> HuntPlayer:
    return SoundCardPlayer() if folder is None else FilePlayer(folder)


def _chosen_hunt(options: argparse.Namespace, store: Store) -> tuple[str, HuntSetup]:
    """Return the hunt to run, new or interrupted. Raises: UserError, NoVoice."""
    if options.resume:
        resumed = HuntSession.resume(store, speech=shared_worker_speech())
        return resumed.identity, resumed.setup
    stored_call, stored_exchange = stored_own_station(store)
    options.exchange = options.exchange or stored_exchange
    call = options.call or stored_call or OFFERED_CALL
    setup = create_hunt_setup(
        session_options_from(options),
        HuntOptions(
            call=call,
            voice=options.own_voice,
            minutes=options.minutes,
            bands=options.bands,
            weekend=options.weekend,
        ),
    )
    folder = data_folder() / "exchanges"
    load_own_station(setup.own_call, setup.plan.exchange, folder)
    if options.call or call != OFFERED_CALL:
        update_own_station(store, setup.own_call, setup.plan.exchange, folder)
    for kind in setup.bands:
        print(kind.sentence)
    print(
        f"{setup.minutes:g} minutes as {setup.own_call} with {setup.watts:g} W, spoken by "
        f"{setup.voice}, seed {setup.plan.seed}. Calls are {FICTION_NOTICE}."
    )
    return HuntSession.begin(setup, store, now=datetime.now(UTC)).identity, setup


class _StoryThread:
    """Thread that runs a hunt's simulation (its story), with its own connection to the record."""

    def __init__(self, identity: str, state: HuntState) -> None:
        self._identity, self._state = identity, state
        self._ready = threading.Event()
        self._thread = threading.Thread(target=self._run, name="hunt story", daemon=True)
        self.session: HuntSession | None = None
        self.stream: HuntStream | None = None
        self.failure: FaintcallError | None = None

    def start(self) -> HuntStream:
        """Open the hunt. Raises: UserError, NoVoice."""
        self._thread.start()
        self._ready.wait()
        if self.stream is None:
            assert self.failure is not None
            raise self.failure
        return self.stream

    def stop(self) -> None:
        """Stop the simulation after the acts so far."""
        if self.stream is not None:
            self.stream.stop()
        self._thread.join()

    def _run(self) -> None:
        speech = shared_worker_speech()
        try:
            with Store(record_file()) as store:
                self.session = HuntSession.load(store, self._identity, speech=speech)
                self.stream = HuntStream(
                    self.session, prepare=speech.prepare, listener=self._state.update
                )
                self._ready.set()
                self.stream.run()
        except FaintcallError as error:
            self.failure = error
            self._ready.set()


def _play(
    identity: str, setup: HuntSetup, player: HuntPlayer, reader: LineReader
) -> HuntSession | None:
    """Run a hunt; return it if it has ended, None if the trainee has stopped for now."""
    state = HuntState()
    story = _StoryThread(identity, state)
    stream = story.start()
    dialogue = HuntDialogue(
        stream, state, player, reader=reader, record=lambda: _recorded_over(setup, reader)
    )
    has_ended = False
    player.start(stream)
    try:
        has_ended = dialogue.run()
    except (KeyboardInterrupt, EOFError):
        print()
    finally:
        player.close()
        story.stop()
    return story.session if has_ended else None


def _recorded_over(setup: HuntSetup, reader: LineReader) -> tuple[str, Clip]:
    """Record an over; return the words that the far end's recogniser makes out, and the sound."""
    clip = record_over(reader)
    exchange = setup.plan.load_exchange()
    return recognised_text(clip, exchange) if has_far_recogniser() else "", clip
