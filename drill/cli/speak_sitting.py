"""A sitting at the microphone: prompt after prompt, each as often as the trainee likes.

Whatever the machine or the trainee does wrong is told in a line, and the same prompt is asked for
again; every review is in the record before the next key is asked for.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drill.cli.keyboard import EnterKey, read_key
from drill.cli.speak_dialogue import far_sounds, say_prompt
from drill.cli.speak_microphone import HOW
from drill.core.errors import FaintcallError, NoMicrophone, NoSoundCard, NoVoice, UserError

if TYPE_CHECKING:
    from drill.cli.audio_out import Output
    from drill.cli.speak_dialogue import Round
    from drill.sending.far import FarEnds
    from drill.sending.models import Prompt, Review

AGAIN, FAR, NEXT, STOP = "a", "f", "n", "s"


@dataclass(kw_only=True)
class Sitting:
    """Prompt after prompt with a microphone.

    round: takes, reviews and sends. following: gives the next prompt. speaker: opens the sound card
    for the far end, after the caution. reviewed: takes so far. failed: True where the last take
    failed for a lack of the machine.
    """

    round: "Round"
    following: "Callable[[], Prompt]"
    speaker: "Callable[[], Output]"
    reviewed: int = 0
    failed: bool = False

    def run(self) -> None:
        """Ask until the trainee stops. Raises: EOFError, KeyboardInterrupt, NoRecogniser."""
        kept = "kept" if self.round.takes is not None else "thrown away after its review"
        print(f"{HOW}\nThe sound is {kept}.")
        while self._one(self.following()):
            pass

    def _one(self, asked: "Prompt") -> bool:
        """Ask for one thing until the trainee goes on; return False where that is to stop."""
        print()
        say_prompt(asked)
        first: Review | None = None
        tries = 0
        choice = read_key("Enter: record. n: another prompt. s: stop. ", ("", NEXT, STOP))
        while choice in ("", AGAIN):
            tries += 1
            found, ends = self._try(asked, first, tries)
            first = first or found
            choice = self._after(ends) if found is not None else _retry(asked)
        return choice != STOP

    def _try(
        self, asked: "Prompt", first: "Review | None", tries: int
    ) -> "tuple[Review | None, FarEnds | None]":
        """Return the review and the far end of a take, None for what could not be made, and told.

        Raises: NoRecogniser.
        """
        try:
            self.failed = False
            clip, found = self.round.hear(asked, first)
        except (NoMicrophone, UserError) as error:
            self.failed = isinstance(error, NoMicrophone)
            _tell(error)
            return None, None
        self.reviewed += 1
        try:
            prefix = f"{asked.kind}-{asked.seed}-{tries}-"
            return found, self.round.send(asked, clip, found, prefix)
        except (NoVoice, UserError) as error:
            _tell(error)
            return found, None

    def _after(self, ends: "FarEnds | None") -> str:
        """Let the far end be heard; return AGAIN, NEXT or STOP."""
        plays = ends is not None and self.round.folder is None
        far = "f: hear the far end. " if plays else ""
        while True:
            allowed = ("", AGAIN, STOP, FAR) if plays else ("", AGAIN, STOP)
            choice = read_key(f"Enter: next prompt. a: again. {far}s: stop. ", allowed)
            if choice != FAR:
                return choice or NEXT
            assert ends is not None
            self._play(ends)

    def _play(self, ends: "FarEnds") -> None:
        """Play the take and the voice at every power; Enter ends it."""
        try:
            speaker = self.speaker()
            print("Enter stops it.")
            enter = EnterKey()
            try:
                for name, clip in far_sounds(ends):
                    who, _, power = name.rpartition("-")
                    print(f"{power.removesuffix('w')} W: {'you' if who == 'take' else who}.")
                    speaker.play(clip, name)
                    while not speaker.seconds_since_end():
                        if enter.was_pressed():
                            return
                        time.sleep(0.02)
            finally:
                speaker.stop()
        except NoSoundCard as lack:
            _tell(lack)


def _retry(asked: "Prompt") -> str:
    """Return what to do after a take that could not be reviewed."""
    print(f"Asked for is still: {asked.text}.")
    return read_key("Enter: record. n: another prompt. s: stop. ", ("", NEXT, STOP))


def _tell(error: FaintcallError) -> None:
    print(f"faintcall: {error}", file=sys.stderr, flush=True)
