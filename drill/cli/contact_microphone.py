"""An over from the microphone during a contact: it begins at once and ends soon after the voice."""

from drill.cli.line_reader import LineReader
from drill.cli.speech_detection import SpeechEnd, SpeechMonitor
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.devices import microphone
from drill.devices.microphone import InputLevel

OVER_END = SpeechEnd(quiet_s=0.8, kept_quiet_s=0.1, min_blocks=4)
"""The required quiet is shorter than in the sending drill, because the far station is waiting."""
MAX_OVER_S = 20.0


def record_over(reader: LineReader) -> Clip:
    """Return a recording of what the trainee says now; Enter also ends it.

    Raises: NoMicrophone; UserError if no speech was heard or samples were lost.
    """
    monitor = SpeechMonitor(OVER_END)
    print("Speak now.", flush=True)

    def has_ended(level: InputLevel) -> bool:
        if monitor.follow(level):
            return True
        return bool(monitor.blocks) and reader.read(0) is not None

    recording = microphone.record_clip(seconds=MAX_OVER_S, until=has_ended)
    if monitor.overflowed:
        raise UserError("Samples were lost because the computer was busy.")
    clip = monitor.trim(recording)
    if not monitor.has_spoken or not clip.samples.any():
        raise UserError("No speech was heard, so nothing was sent.")
    print(f"Sent, {clip.seconds:.1f} s.", flush=True)
    return clip
