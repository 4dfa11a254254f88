"""The dialogue of contacts in the terminal: listen, type notes and letters, see both logs.

Lines are printed only as an answer to a typed line and at the end of a contact, so that a screen
reader never talks over the sound, and output never interrupts typing.
"""

from collections.abc import Callable, Iterable

from drill.cli.audio_out import AudioOutput
from drill.cli.contact_clock import TICK_S, ContactClock, TurnClock
from drill.cli.contact_ending import ContactEnding
from drill.cli.line_reader import LineReader
from drill.cli.wrapping import print_text
from drill.contact.acts import BREAK_OFF, KEYS, LEAVE, NOTE, SAYINGS, VOICE, Act
from drill.contact.events import LiveEvent, SendingEnds, SendingStarts, SoundStarts
from drill.contact.live import LiveContact
from drill.contact.machine_ears import has_far_recogniser, recognised_text
from drill.contact.overs import TRAINEE
from drill.contact.sessions import ContactSession
from drill.contact.wording import clock
from drill.core.errors import FaintcallError
from drill.core.models import Clip
from drill.radio import AUDIO_RATE_HZ

STOP, WHERE, MICROPHONE, DOT = "s", "i", "v", "."
HOW = (
    "Type what you copy at any time, then Enter. A single letter, then Enter, speaks or acts:\n"
    + "\n".join(f"  {key}  {SAYINGS.get(kind, 'log it')}" for key, kind in KEYS.items())
    + "\n  v  speak yourself, by microphone\n"
    "  .  leave this station; while you send: break off\n"
    "  i  where am I        s  stop for now; everything is saved\n"
    "A letter as a note: =a. While you send you hear nothing."
)


class ContactDialogue:
    """The dialogue of one session."""

    def __init__(
        self,
        session: ContactSession,
        output: AudioOutput,
        *,
        reader: LineReader,
        clock: ContactClock,
        record: Callable[[], Clip],
    ) -> None:
        """Prepare; record: records an over from the microphone."""
        self._session, self._output, self._reader, self._clock = session, output, reader, clock
        self._record = record
        self._sounds = 0
        self._turn_due = True

    @property
    def _contact(self) -> LiveContact:
        return self._session.contact

    def run(self) -> None:
        """Present contact after contact. Raises: EOFError at the end of input."""
        print_text(HOW)
        while True:
            if not self._contact.ended and not self._run_contact():
                return
            ending = ContactEnding(self._session, self._output, self._reader)
            if not ending.run() or self._session.is_finished:
                return
            self._session.next_contact()

    def _run_contact(self) -> bool:
        """Run the current contact to its end; return False if the trainee stops for now."""
        session = self._session
        number = session.number
        watts = session.setup.slot(number).watts
        print_text(
            f"\nStation {number + 1} of {session.setup.count}, you have {watts:g} W. Listen."
        )
        self._clock.set(self._contact.now)
        self._sounds, self._turn_due = 0, True
        if self._contact.now:
            print_text(
                f"It continues at {clock(self._contact.now / AUDIO_RATE_HZ)}. {self._log_line()}"
            )
        answered = True
        while True:
            self._let_time_pass()
            if self._contact.ended:
                self._output.stop()
                return True
            if answered:
                print("> ", end="", flush=True)
            line = self._reader.read(TICK_S if self._clock.runs else None)
            answered = line is not None
            if line is not None and not self._answer(line.strip()):
                return False

    # --- time

    def _let_time_pass(self) -> None:
        """Advance the contact to the time of its clock, and play its sound."""
        if isinstance(self._clock, TurnClock):
            if self._turn_due:
                self._take_turn(self._clock)
            return
        target = self._clock.now()
        while not self._contact.ended:
            following = self._contact.next_at
            if following is None or following > target:
                self._session.advance(target)
                return
            if self._show(self._session.advance(following)):
                self._clock.set(self._contact.now)  # time did not pass while the sound was rendered
                return

    def _take_turn(self, turn: TurnClock) -> None:
        """Advance to the end of the next sound, or by one turn of silence."""
        until = turn.turn_ends()
        while not self._contact.ended:
            following = self._contact.next_at
            if following is None or following > until:
                self._session.advance(until)
                break
            events = self._session.advance(following)
            if self._show(events):
                until = max(e.until for e in events if isinstance(e, SoundStarts))
            elif any(isinstance(event, SendingEnds) for event in events):
                until = self._contact.now + turn.turn_ends() - turn.now()
        turn.set(self._contact.now)

    def _show(self, events: Iterable[LiveEvent]) -> bool:
        """Play or stop the sound; return True if a sound was rendered."""
        rendered = False
        for event in events:
            if isinstance(event, SoundStarts) and event.render is not None:
                self._sounds += 1
                name = f"station-{self._session.number + 1:02d}-{self._sounds:02d}"
                message = self._output.play(event.render(), name)
                if message:
                    print_text(message)
                rendered = True
            elif isinstance(event, SendingStarts):
                self._output.stop()
        return rendered

    # --- typed lines

    def _answer(self, line: str) -> bool:
        """Act on a typed line; return False to stop for now."""
        key = line.lower()
        self._turn_due = not line or key == MICROPHONE or KEYS.get(key) in SAYINGS
        if not line:
            return True
        if key == STOP:
            return False
        if key == WHERE:
            self._tell_where()
        elif key == MICROPHONE:
            self._speak()
        elif key == DOT:
            self._act(BREAK_OFF if self._contact.is_sending else LEAVE)
        elif key in KEYS:
            self._act(KEYS[key])
        elif len(line) == 1 and not line.isdigit():
            print_text(f"Unknown key {line}. {WHERE} shows where you are; ={line} notes it.")
        else:
            self._act(NOTE, line.removeprefix("="))
            print_text(self._log_line())
        return True

    def _act(self, kind: str, text: str = "") -> None:
        self._act_at(max(self._clock.now(), self._contact.now), kind, text)

    def _act_at(self, at: int, kind: str, text: str, clip: Clip | None = None) -> None:
        events = self._session.act(Act(at=at, kind=kind, text=text), clip)
        for event in events:
            if isinstance(event, SendingStarts) and kind in SAYINGS:
                seconds = (event.until - event.at) / AUDIO_RATE_HZ
                print_text(f"You say: {event.text} ({seconds:.0f} s).")
        self._show(events)
        self._clock.set(self._contact.now)

    def _speak(self) -> None:
        """Send an over from the microphone; it begins now.

        The contact waits until the over has been recorded, so that nothing happens before it is
        known.
        """
        self._output.stop()
        at = max(self._clock.now(), self._contact.now)
        try:
            clip = self._record()
        except FaintcallError as error:
            print_text(f"{error} Use the letters instead.")
            self._clock.set(at)
            return
        text = ""
        if has_far_recogniser():
            text = recognised_text(clip, self._session.setup.plan.load_exchange())
        self._act_at(at, VOICE, text, clip)
        # The time during which the trainee spoke has already passed.
        sent = [o for o in self._contact.frequency.trace if o.speaker == TRAINEE]
        if not self._contact.ended and sent:
            self._show(self._session.advance(sent[-1].end))
        self._clock.set(self._contact.now)

    def _log_line(self) -> str:
        entry = self._contact.entry
        return f"Your log line: {entry.call or '(no call)'} {entry.exchange or '(no exchange)'}"

    def _tell_where(self) -> None:
        session, contact = self._session, self._contact
        state = (
            "You are sending and hear nothing." if contact.is_sending else "Your receiver is open."
        )
        print_text(
            f"Station {session.number + 1} of {session.setup.count}, "
            f"{clock(contact.now / AUDIO_RATE_HZ)} since you tuned in. {state} {self._log_line()}"
        )
        names = [f"{key}: {SAYINGS.get(kind, 'log it')}" for key, kind in KEYS.items()]
        print_text(f"{'. '.join(names)}. v: by microphone. .: leave. s: stop for now.")
