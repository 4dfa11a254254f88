"""The end of a hunt in the terminal: both logs, advice, where the time went, and sounds again."""

import re

from drill.cli.audio_out import AudioOutput
from drill.cli.line_reader import LineReader
from drill.cli.tables import print_table
from drill.cli.wrapping import print_text
from drill.contact.overs import TRAINEE
from drill.contact.wording import SPEAKER_NAMES, clock
from drill.hunt.advice_wording import advice_texts, no_advice_sentence
from drill.hunt.explanation import explaining_sentences
from drill.hunt.live import LiveHunt
from drill.hunt.results import HuntResult
from drill.hunt.review import (
    MARGIN_S,
    HuntOver,
    contact_stop,
    hunt_contact_overs,
    overs_on_air,
    render_again,
    render_speech,
    replay_contact,
)
from drill.hunt.sessions import HuntSession
from drill.hunt.speech import VoiceSpeech
from drill.hunt.wording import (
    contacts_table,
    heading_parts,
    lead_sentence,
    quarters_table,
    stops_table,
    times_table,
    verdict_text,
)
from drill.radio import AUDIO_RATE_HZ

_REQUEST = re.compile("(?P<contact>[1-9][0-9]?)([.](?P<over>[1-9][0-9]?)(?P<clean>c?))?")
"""A lost contact, or an over of it: "2", "2.3", "2.3c"."""


class HuntEnding:
    """Shows the result of a hunt that has ended."""

    def __init__(
        self, session: HuntSession, output: AudioOutput, reader: LineReader | None
    ) -> None:
        """Compute the result; reader: None to show it without asking."""
        self._session, self._output, self._reader = session, output, reader
        self._result = session.result()
        self._lives: dict[int, LiveHunt] = {}
        self._lost = [
            index
            for index, contact in enumerate(self._result.contacts)
            if contact.is_lost and contact_stop(self._result, index) is not None
        ]

    def run(self) -> None:
        """Show the result, then tables and sounds on request, until Enter or s."""
        self.show()
        if self._reader is None:
            self.print_details()
            return
        while True:
            key = self._reader.ask(self._prompt()).strip().lower()
            self._output.stop()
            if key in ("", "s"):
                return
            self._answer(key)

    def show(self) -> None:
        """Print the result and the advice."""
        result = self._result
        print_text(f"\n{' '.join(heading_parts(result))}.")
        print_text(lead_sentence(result))
        print_table(times_table(result))
        if not result.advice:
            print_text(no_advice_sentence(result))
        for number, advice in enumerate(result.advice, 1):
            sentence, figures = advice_texts(result, advice)
            print_text(f"{number}. {sentence}\n   {figures}")
        for number, index in enumerate(self._lost, 1):
            contact = result.contacts[index]
            call = contact.logs.my_call or contact.logs.given_call
            print_text(f"Lost {number}: {call}: {verdict_text(contact)}")

    def print_details(self) -> None:
        """Print all tables and the figures that explain the result."""
        print_details(self._result)

    def _prompt(self) -> str:
        lost = "" if not self._lost else f"1 to {len(self._lost)}: a lost contact. "
        return f"Enter: finish. d: details. {lost}"

    def _answer(self, key: str) -> None:
        asked = _REQUEST.fullmatch(key)
        if key == "d":
            self.print_details()
        elif asked and int(asked["contact"]) <= len(self._lost):
            chosen = int(asked["contact"])
            if asked["over"]:
                self._play(chosen, int(asked["over"]), clean=bool(asked["clean"]))
            else:
                self._print_overs(chosen)
        else:
            print_text(f"Unknown key {key}. {self._prompt()}")

    def _print_overs(self, chosen: int) -> None:
        overs = hunt_contact_overs(self._replayed(chosen), self._result, self._lost[chosen - 1])
        for number, over in enumerate(overs, 1):
            print_text(f"  {chosen}.{number}  {_words(over)}")
        print_text(f"{chosen}.1: over 1 again, as it was. {chosen}.1c: clean.")

    def _stop(self, chosen: int) -> tuple[int, int, int]:
        stop = contact_stop(self._result, self._lost[chosen - 1])
        assert stop is not None  # others are not in the list
        return stop

    def _replayed(self, chosen: int) -> LiveHunt:
        """Return the hunt at the end of a lost contact."""
        if chosen not in self._lives:
            self._lives[chosen] = replay_contact(
                self._session.setup, self._session.events(), self._stop(chosen), VoiceSpeech()
            )
        return self._lives[chosen]

    def _play(self, chosen: int, number: int, *, clean: bool) -> None:
        live = self._replayed(chosen)
        overs = overs_on_air(live, self._result, self._lost[chosen - 1])
        if number > len(overs):
            print_text(f"This contact has {len(overs)} overs.")
            return
        over, margin = overs[number - 1], round(MARGIN_S * AUDIO_RATE_HZ)
        if clean or over.speaker == TRAINEE:
            clip = render_speech(live, self._stop(chosen)[0], over, VoiceSpeech())
        else:
            clip = render_again(
                self._session.setup,
                self._session.events(),
                max(0, over.start - margin),
                over.end + margin,
                VoiceSpeech(),
            )
        if clip is None:
            print_text("The sound of an over by microphone is not stored.")
            return
        message = self._output.play(clip, f"lost-{chosen}-over-{number}{'-clean' * clean}")
        if message:
            print_text(message)


def print_details(result: HuntResult) -> None:
    """Print all tables of a hunt, and the figures that explain its result."""
    for table in (contacts_table(result), quarters_table(result), stops_table(result)):
        if table.rows:
            print_text(f"\n{table.caption}:")
            print_table(table)
    print()
    for sentence in explaining_sentences(result):
        print_text(sentence)


def _words(over: HuntOver) -> str:
    said = f"{clock(over.start / AUDIO_RATE_HZ)} {SPEAKER_NAMES[over.who]}: "
    said += over.text or "by microphone"
    if over.heard is None:
        return said
    return f"{said}. They made out: {over.heard or 'nothing'}"
