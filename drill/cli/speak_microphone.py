"""Records a take from the microphone: a moment of background noise, then speech to its end.

Messages during a recording are short, because a screen reader may speak them into the microphone.
"""

from drill.cli.keyboard import EnterKey
from drill.cli.speech_detection import SpeechEnd, SpeechMonitor
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.devices import microphone
from drill.devices.microphone import SILENCE_PEAK, InputLevel

TAKE_END = SpeechEnd(quiet_s=2.0, kept_quiet_s=0.8, min_blocks=6, lead_in_s=0.5)
"""The trainee may speak after the lead-in, in which noise and hum are measured. The quiet that ends
a take is longer than a pause that the review reports."""
MAX_TAKE_RECORDING_S = 30.0
MUTED_AFTER_S = 4.0
"""Digital silence for this long means a muted microphone; recording then stops."""
INSTRUCTIONS = (
    "Nothing is recorded before you press Enter.\n"
    "A recording begins with a moment of quiet. It ends when you press Enter, after\n"
    f"{TAKE_END.quiet_s:g} s of quiet, or after {MAX_TAKE_RECORDING_S:g} s."
)


class MicrophoneSource:
    """The default input device."""

    def __init__(self, enter: EnterKey | None = None) -> None:
        """Prepare to record. enter: the key that ends a recording, None for the terminal's."""
        self._enter = EnterKey() if enter is None else enter

    def record(self) -> Clip:
        """Record a take now.

        Raises: NoMicrophone; RecordingInterrupted with what was recorded; UserError if samples were
        lost.
        """
        monitor = _TakeMonitor(self._enter)
        print("Recording. Keep still.", flush=True)
        recording = microphone.record_clip(seconds=MAX_TAKE_RECORDING_S, until=monitor)
        clip = monitor.speech.trim(recording)
        # Enter may have been pressed just when the recording ended by itself; it must not answer
        # the next question.
        self._enter.discard()
        print(f"Recorded, {clip.seconds:.1f} s.", flush=True)
        if monitor.speech.overflowed:
            raise UserError("samples were lost because the computer was busy; record again")
        return clip


class _TakeMonitor:
    """Ends a recording after speech, on Enter, or if the microphone is muted."""

    def __init__(self, enter: EnterKey) -> None:
        self._enter = enter
        self.speech = SpeechMonitor(TAKE_END)

    def __call__(self, level: InputLevel) -> bool:
        before = self.speech.blocks
        if self.speech.follow(level):
            return True
        blocks = self.speech.blocks
        if blocks == TAKE_END.lead_in_blocks > before:
            self._enter.discard()  # pressing Enter twice must not end the recording
            print("Say it now.", flush=True)
        if blocks <= TAKE_END.lead_in_blocks:
            return False
        is_muted = self.speech.peak < SILENCE_PEAK and level.end_s >= MUTED_AFTER_S
        return is_muted or self._enter.was_pressed()
