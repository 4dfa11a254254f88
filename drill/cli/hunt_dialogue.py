"""The dialogue of a hunt in the terminal: tune by words, type notes and letters.

Lines are printed only as an answer to a typed line, so that a screen reader never talks over the
sound, and output never interrupts typing.
"""

import re
import threading
from collections.abc import Callable, Sequence

from drill.cli.hunt_player import HuntPlayer
from drill.cli.line_reader import LineReader
from drill.cli.wrapping import print_text
from drill.contact.acts import BREAK_OFF, KEYS, LEAVE, LOG, NOTE, SAYINGS, VOICE
from drill.core.counting import plural
from drill.core.errors import FaintcallError, UserError
from drill.core.models import Clip
from drill.hunt.acts import MARK, MEND, TUNE
from drill.hunt.dial_words import khz_text, read_dial_words
from drill.hunt.events import HuntEvent
from drill.hunt.live import LiveHunt
from drill.hunt.pad import PadLine
from drill.hunt.snapshot import HuntSnapshot, hunt_snapshot
from drill.hunt.stream import HuntStream
from drill.radio import AUDIO_RATE_HZ

STOP, WHERE, MICROPHONE, DOT = "s", "i", "v", "."
TICK_S = 0.05
ACT_TIMEOUT_S = 10.0
"""Longest wait for an act: it waits while the simulation waits for speech, else a few
milliseconds."""
LEVELS_DB = ((35.0, "very strong"), (20.0, "strong"), (10.0, "clear"), (3.0, "faint"))
_MARK = re.compile(r"k(?:\s+(?P<label>\S.*))?", re.IGNORECASE)
_MEND = re.compile(r"r(?P<line>[0-9]{1,4})?(?:\s+(?P<text>\S.*))?", re.IGNORECASE)
HOW_TO_HUNT = (
    "Type what you copy at any time, then Enter. In kHz, up 2, down 0.5 and to 14208 turn the\n"
    "dial. A single letter, then Enter, speaks or acts:\n"
    + "\n".join(f"  {key}  {SAYINGS.get(kind, 'log it')}" for key, kind in KEYS.items())
    + "\n  v  speak yourself, by microphone\n"
    "  .  give up this station; while you send: break off\n"
    "  k  mark this frequency; k two calling: with a label\n"
    "  r OH2QRK 081  correct the last line of the pad; r3: line 3\n"
    "  i  where am I        s  stop for now, or for good; all is saved\n"
    "A letter as a note: =a. While you send you hear nothing."
)


class HuntState:
    """The latest state of a hunt; the simulation's thread writes it and the dialogue reads it."""

    def __init__(self) -> None:
        """Wait for the first state."""
        self._changed = threading.Condition()
        self._latest: HuntSnapshot | None = None

    def update(self, live: LiveHunt, events: Sequence[HuntEvent]) -> None:
        """Keep the present state. This is the listener of a HuntStream."""
        snapshot = hunt_snapshot(live)
        with self._changed:
            self._latest = snapshot
            self._changed.notify_all()

    @property
    def latest(self) -> HuntSnapshot:
        """The latest state; it exists once `wait_for_first` has returned True."""
        assert self._latest is not None
        return self._latest

    def wait_for_first(self, timeout_s: float) -> bool:
        """Wait for the first state; return False if it takes longer."""
        with self._changed:
            return self._changed.wait_for(lambda: self._latest is not None, timeout_s)

    def wait_for(self, acts: int) -> HuntSnapshot:
        """Return the state after `acts` acts, or the latest state after a time limit."""
        with self._changed:
            self._changed.wait_for(
                lambda: (
                    self._latest is not None
                    and (self._latest.acts >= acts or bool(self._latest.ended))
                ),
                ACT_TIMEOUT_S,
            )
        return self.latest


class HuntDialogue:
    """The dialogue of one running hunt."""

    def __init__(
        self,
        stream: HuntStream,
        state: HuntState,
        player: HuntPlayer,
        *,
        reader: LineReader,
        record: Callable[[], tuple[str, Clip]],
    ) -> None:
        """Prepare. record: function that records an over, and returns its words and its sound."""
        self._stream, self._state, self._player = stream, state, player
        self._reader, self._record = reader, record

    def run(self) -> bool:
        """Run the hunt; return True if it has ended, False if the trainee stops for now.

        Raises: EOFError at the end of input; NoVoice.
        """
        print_text(HOW_TO_HUNT)
        if not self._state.wait_for_first(TICK_S):
            print_text("The band is being prepared.", flush=True)
        while not self._state.wait_for_first(1.0):
            self._stream.raise_failure()
        print_text(self._where_now(), flush=True)
        answered = True
        while not self._stream.ended:
            self._stream.raise_failure()
            if answered:
                print("> ", end="", flush=True)
            line = self._reader.read(TICK_S if self._player.runs else None)
            answered = line is not None
            if line is not None and not self._answer(line.strip()):
                return False
        return True

    def _answer(self, line: str) -> bool:
        """Act on a typed line; return False to stop for now."""
        key = line.lower()
        if key == STOP:
            return False
        try:
            answer = self._perform(line, key)
        except UserError as error:
            answer = f"{str(error)[:1].upper()}{str(error)[1:]}."
        if answer:
            print_text(answer, flush=True)
        return True

    def _perform(self, line: str, key: str) -> str:
        """Perform a line; return what is printed. Raises: UserError."""
        if not line:
            self._player.pass_turn(self._stream)
            return "" if self._player.runs else self._ear()
        letters = {WHERE: self._where_now, MICROPHONE: self._speak, DOT: self._leave}
        if key in letters:
            return letters[key]()
        if key in KEYS:
            return self._key(KEYS[key])
        return self._words(line)

    def _words(self, line: str) -> str:
        """Perform a line of words: for the dial, a mark, the pad, or a note. Raises: UserError."""
        state = self._state.latest
        dial_hz = read_dial_words(line, state.bands, state.dial_hz)
        mark, mend = _MARK.fullmatch(line), _MEND.fullmatch(line)
        if dial_hz is not None:
            return f"{khz_text(self._act(TUNE, hz=dial_hz).dial_hz)} kHz."
        if mark:
            self._act(MARK, text=mark["label"] or "")
            return f"Marked {khz_text(state.dial_hz)} kHz."
        if mend:
            return self._mend(mend["line"], mend["text"])
        if len(line) == 1 and not line.isdigit():
            return f"Unknown key {line}. {WHERE} shows where you are; ={line} notes it."
        return self._note(line.removeprefix("="))

    def _where_now(self) -> str:
        return self._where(self._state.latest)

    def _leave(self) -> str:
        sends = self._state.latest.sending is not None
        return self._log_line(self._act(BREAK_OFF if sends else LEAVE))

    def _act(
        self,
        kind: str,
        *,
        text: str = "",
        hz: float | None = None,
        line: int | None = None,
        clip: Clip | None = None,
    ) -> HuntSnapshot:
        """Act, and return the state afterwards."""
        acts = self._state.latest.acts + 1
        self._stream.act(kind, text=text, hz=hz, line=line, clip=clip)
        return self._state.wait_for(acts)

    def _key(self, kind: str) -> str:
        before = self._state.latest
        after = self._act(kind)
        if kind == LOG:
            if len(after.lines) == len(before.lines):
                return "Nothing is noted yet, so nothing was logged."
            return f"Logged: {_line_text(after.lines[-1])}"
        return self._you_say(after)

    def _you_say(self, state: HuntSnapshot) -> str:
        if state.sending is None:
            return ""
        until, text = state.sending
        return f"You say: {text or 'your own words'} ({(until - state.now) / AUDIO_RATE_HZ:.0f} s)."

    def _note(self, text: str) -> str:
        state = self._act(NOTE, text=text)
        call = state.entry.call
        known = next((line for line in state.lines if call and line.call == call), None)
        worked = f" You have it, no. {known.number}." if known else ""
        return f"{self._log_line(state)}{worked}"

    def _mend(self, number: str | None, text: str | None) -> str:
        key = f"r{number or ''}"
        if text is None:
            return f"Type the correct call or exchange after {key}, such as {key} OH2QRK 081."
        lines = self._act(MEND, text=text, line=int(number) if number else None).lines
        place = int(number) - 1 if number else len(lines) - 1
        if not 0 <= place < len(lines):
            return f"The pad has {plural(len(lines), 'line')}, so nothing was changed."
        return f"Now: {_line_text(lines[place])}"

    def _speak(self) -> str:
        try:
            text, clip = self._record()
        except FaintcallError as error:
            return f"{error} Use the letters instead."
        return self._you_say(self._act(VOICE, text=text, clip=clip))

    def _log_line(self, state: HuntSnapshot) -> str:
        entry = state.entry
        return f"Your log line: {entry.call or '(no call)'} {entry.exchange or '(no exchange)'}"

    def _where(self, state: HuntSnapshot) -> str:
        seconds = max(0.0, (state.ends_at - self._stream.now) / AUDIO_RATE_HZ)
        left = plural(round(seconds / 60), "minute") if seconds > 90 else f"{seconds:.0f} seconds"
        return (
            f"{left} left. {khz_text(state.dial_hz)} kHz. {self._ear()} {self._log_line(state)}. "
            f"{len(state.lines)} on the pad."
        )

    def _ear(self) -> str:
        last = self._player.last
        if last is not None and last.sends:
            return "You are sending and hear nothing."
        return f"Level: {level_words(last.level_db if last is not None else 0.0)}."


def level_words(level_db: float) -> str:
    """Return the reading of the level meter in words."""
    word = next((word for lowest, word in LEVELS_DB if level_db >= lowest), "")
    return f"{word}, {level_db:.0f} dB over the noise" if word else "noise only"


def _line_text(line: PadLine) -> str:
    return (
        f"no. {line.number}, {line.call or '(no call)'}, given {line.given or '(nothing)'}, "
        f"got {line.got or '(nothing)'}."
    )
