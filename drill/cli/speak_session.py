"""A session with the microphone: one prompt after another, each as often as the trainee likes.

After an error by the trainee or the machine, one line is printed and the same prompt is presented
again. Every review is in the record before the next question.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass

from drill.cli.audio_out import AudioOutput
from drill.cli.keyboard import EnterKey, read_key
from drill.cli.speak_dialogue import SpeakDialogue, far_end_sounds, print_prompt
from drill.cli.speak_microphone import INSTRUCTIONS
from drill.cli.wrapping import print_text
from drill.core.errors import NoMicrophone, NoSoundCard, NoVoice, UserError
from drill.sending.far_end import FarEnds
from drill.sending.models import Prompt, Review

AGAIN, FAR_END, NEXT, STOP = "a", "f", "n", "s"


@dataclass(kw_only=True)
class SpeakSession:
    """Presents prompts one after another and records the takes.

    dialogue: records, reviews and sends. next_prompt: composes a prompt. open_speaker: opens the
    sound card, after the caution. reviewed: takes reviewed so far. failed: True if the last take
    failed because of the microphone.
    """

    dialogue: SpeakDialogue
    next_prompt: Callable[[], Prompt]
    open_speaker: Callable[[], AudioOutput]
    reviewed: int = 0
    failed: bool = False

    def run(self) -> None:
        """Present prompts until the trainee stops. Raises: EOFError, NoRecogniser."""
        kept = self.dialogue.take_folder is not None
        print_text(INSTRUCTIONS)
        print_text(f"Recordings are {'saved' if kept else 'discarded after their review'}.")
        while self._practise(self.next_prompt()):
            pass

    def _practise(self, prompt: Prompt) -> bool:
        """Repeat a prompt until the trainee moves on; return False if the trainee stops."""
        print()
        print_prompt(prompt)
        first: Review | None = None
        tries = 0
        key = read_key("Enter: record. n: another prompt. s: stop. ", ("", NEXT, STOP))
        while key in ("", AGAIN):
            tries += 1
            review, ends = self._try_once(prompt, first, tries)
            first = first or review
            key = self._ask_after_review(ends) if review is not None else _ask_to_retry(prompt)
        return key != STOP

    def _try_once(
        self, prompt: Prompt, first: Review | None, tries: int
    ) -> tuple[Review | None, FarEnds | None]:
        """Record one take; return its review and far end, None for each that failed.

        Raises: NoRecogniser.
        """
        try:
            self.failed = False
            clip, review = self.dialogue.review(prompt, first)
        except (NoMicrophone, UserError) as error:
            self.failed = isinstance(error, NoMicrophone)
            _print_error(str(error))
            return None, None
        self.reviewed += 1
        try:
            file_prefix = f"{prompt.kind}-{prompt.seed}-{tries}-"
            return review, self.dialogue.show_far_end(prompt, clip, review, file_prefix)
        except (NoVoice, UserError) as error:
            _print_error(str(error))
            return review, None

    def _ask_after_review(self, ends: FarEnds | None) -> str:
        """Offer to play the far end, unless it was written to files; return AGAIN, NEXT or STOP."""
        plays = ends is not None and self.dialogue.far_end_folder is None
        far_end = "f: hear the far end. " if plays else ""
        allowed = ("", AGAIN, FAR_END, STOP) if plays else ("", AGAIN, STOP)
        while True:
            key = read_key(f"Enter: next prompt. a: again. {far_end}s: stop. ", allowed)
            if key != FAR_END:
                return key or NEXT
            assert ends is not None
            self._play(ends)

    def _play(self, ends: FarEnds) -> None:
        """Play the take and the reference voice at every power; Enter stops."""
        try:
            speaker = self.open_speaker()
        except NoSoundCard as error:
            _print_error(error.message_or("write the far end to files with --audio-to DIR"))
            return
        print_text("Press Enter to stop.")
        enter = EnterKey()
        try:
            for name, clip in far_end_sounds(ends):
                voice, _, power = name.rpartition("-")
                print_text(f"{power.removesuffix('w')} W: {'you' if voice == 'take' else voice}.")
                speaker.play(clip, name)
                while not speaker.seconds_since_end():
                    if enter.was_pressed():
                        return
                    time.sleep(0.02)
        except NoSoundCard as error:
            _print_error(str(error))
        finally:
            speaker.stop()


def _ask_to_retry(prompt: Prompt) -> str:
    """Return the key pressed after a take that could not be reviewed."""
    print_text(f"To be sent: {prompt.text}.")
    return read_key("Enter: record. n: another prompt. s: stop. ", ("", NEXT, STOP))


def _print_error(message: str) -> None:
    print_text(f"faintcall: {message}", stream=sys.stderr, flush=True)
