"""The track of an item set: one sound file for a room, with spoken numbers and pauses to write.

Before each item a voice says its number without noise; after it comes a pause.
"""

from collections.abc import Generator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from drill import voices
from drill.core.audio_files import (
    audio_file_when_complete,
    audio_format,
    load_soundfile,
    read_audio,
)
from drill.core.conditions import Conditions, Receiver
from drill.core.models import Clip, Operator, Samples
from drill.core.validation import within
from drill.items.plan import Plan
from drill.radio import AUDIO_RATE_HZ
from drill.radio.channel import simulate
from drill.voices.operators import find_operators
from phonetics.message import Word
from phonetics.numerals import say_number
from phonetics.over_style import PLAIN_OVER_STYLE

DEFAULT_PAUSE_S = 8.0
PAUSE_LIMITS_S = (1.0, 120.0)
TRACK_LEAD_IN_S = 2.0
AFTER_NUMBER_S = 0.5
WITHOUT_NOISE = Conditions(snr_db=None, receiver=Receiver(agc="off"))


def write_track(
    plan: Plan, entries: Sequence[dict[str, Any]], path: Path, *, pause_s: float = DEFAULT_PAUSE_S
) -> Generator[int, None, None]:
    """Write the track of a finished set; yield the number of items written after each.

    entries: entries of the manifest; their sound files are in the folder of the track. path: its
    ending determines the format. pause_s: pause after each item. A failure leaves no incomplete
    file.

    Raises: UserError for a pause out of range, or if a file cannot be read or written; NoVoice.
    """
    within("track", pause_s, *PAUSE_LIMITS_S, "s", label="pause")
    soundfile = load_soundfile()
    operators = find_operators(plan.voices) if plan.voices else None
    announcer = voices.usable_operators(operators)[0]
    with (
        audio_file_when_complete(path) as temporary,
        soundfile.SoundFile(
            temporary,
            "w",
            samplerate=AUDIO_RATE_HZ,
            channels=1,
            format=audio_format(path),
            subtype="PCM_16",
        ) as track,
    ):
        track.write(_silence(TRACK_LEAD_IN_S))
        for entry in entries:
            track.write(announcement(entry["number"], announcer).samples)
            track.write(_silence(AFTER_NUMBER_S))
            track.write(read_audio(path.parent / entry["file"]).samples)
            track.write(_silence(pause_s))
            yield entry["number"]


def announcement(number: int, operator: Operator) -> Clip:
    """Return "number seven" through the channel of an item, without noise. Raises: NoVoice."""
    digits = say_number(str(number), PLAIN_OVER_STYLE)
    words = (Word(say="number"), *digits)
    return simulate(voices.speak(words, operator, number), WITHOUT_NOISE, number).clip


def _silence(seconds: float) -> Samples:
    return np.zeros(round(seconds * AUDIO_RATE_HZ), np.float32)
