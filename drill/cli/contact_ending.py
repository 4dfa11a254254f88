"""The end of a contact in the terminal: both logs, time spent, advice, and replays."""

import re
from collections.abc import Callable

from drill.cli.audio_out import AudioOutput
from drill.cli.line_reader import LineReader
from drill.cli.tables import print_table
from drill.cli.wrapping import print_text
from drill.contact.review import SaidOver, render_contact, render_over, said_overs
from drill.contact.sessions import ContactSession
from drill.contact.wording import (
    SPEAKER_NAMES,
    advice_sentence,
    clock,
    fault_sentences,
    heading,
    logs_table,
    path_sentence,
    time_sentence,
    truth_sentence,
)
from drill.core.models import Clip

_ONE_OVER = re.compile("([1-9][0-9]?)(c?)")


class ContactEnding:
    """Shows the result of a session's current contact, which has ended."""

    def __init__(
        self, session: ContactSession, output: AudioOutput, reader: LineReader | None
    ) -> None:
        """Prepare; reader: None to show without asking."""
        self._session, self._output, self._reader = session, output, reader

    def run(self) -> bool:
        """Show the result, then replay on request; return False if the trainee stops."""
        self.show()
        following = "finish" if self._session.is_finished else "next station"
        prompt = f"Enter: {following}. n: the contact again. d: what was said. s: stop. "
        assert self._reader is not None
        while True:
            key = self._reader.ask(prompt).strip().lower()
            self._output.stop()
            if key in ("", "s"):
                return key == ""
            self._answer(key)

    def show(self) -> None:
        """Print the result."""
        result = self._session.results[self._session.number]
        print_text(f"\n{heading(result)}")
        for sentence in fault_sentences(result.logs)[1:]:
            print_text(sentence)
        advice = advice_sentence(result.advice)
        if advice:
            print_text(advice)
        print_table(logs_table(result.logs))
        if not result.logs.is_right:
            print_text(truth_sentence(result.logs))
        print_text(time_sentence(result))
        print_text(path_sentence(result))

    def print_overs(self) -> None:
        """Print the overs with their numbers and words."""
        for number, over in enumerate(said_overs(self._session.contact), 1):
            print_text(
                f"  {number:2}  {clock(over.at_s)} {SPEAKER_NAMES[over.who]}: {_words(over)}"
            )

    def _answer(self, key: str) -> None:
        contact, name = self._session.contact, f"station-{self._session.number + 1:02d}"
        asked = _ONE_OVER.fullmatch(key)
        overs = said_overs(contact)
        if key == "n":
            self._play(f"{name}-again", lambda: render_contact(contact))
        elif key == "d":
            self.print_overs()
            print_text("3: over 3 again, as it was. 3c: clean.")
        elif asked and int(asked[1]) <= len(overs):
            index, clean = int(asked[1]) - 1, bool(asked[2])
            self._play(
                f"{name}-over-{asked[1]}{'-clean' if clean else ''}",
                lambda: render_over(contact, index, clean=clean),
            )
        else:
            last = f", 1 to {len(overs)}" if overs else ""
            print_text(f"Unknown key {key}. Press Enter, n, d, s{last}, or a number and c.")

    def _play(self, name: str, render: Callable[[], Clip]) -> None:
        message = self._output.play(render(), name)
        if message:
            print_text(message)


def _words(over: SaidOver) -> str:
    if over.heard is None:
        return over.text if over.audible else f"{over.text} (you could not hear it)"
    said = over.text or "by microphone"
    return f"{said}. They made out: {over.heard or 'nothing'}"
