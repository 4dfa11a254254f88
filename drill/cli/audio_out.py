"""Audio output of a command: the sound card, or files."""

import time
from pathlib import Path
from typing import Protocol

from drill.core.audio_files import make_folder, write_audio
from drill.core.models import Clip
from drill.devices.output import SoundCard


class AudioOutput(Protocol):
    """Plays or writes clips, one at a time.

    plays: True if clips are heard, False if they are only written.
    """

    plays: bool

    def play(self, clip: Clip, name: str) -> str:
        """Start playing a clip, or write it under a name; return a message for the user, or ""."""
        ...

    def seconds_since_end(self) -> float:
        """Return the seconds since the clip ended, 0 while it plays."""
        ...

    def wait(self) -> None:
        """Return when the clip has ended, or at once if none is playing."""
        ...

    def stop(self) -> None:
        """Stop the clip that plays."""
        ...


def open_output(folder: Path | None) -> AudioOutput:
    """Return an output that writes into a folder, or the sound card for None.

    Raises: NoSoundCard; UserError if the folder cannot be made.
    """
    return SoundCardOutput() if folder is None else FileOutput(folder)


class SoundCardOutput:
    """Plays clips on the sound card."""

    plays = True

    def __init__(self) -> None:
        """Open the sound card. Raises: NoSoundCard."""
        self._card = SoundCard()

    def play(self, clip: Clip, name: str) -> str:
        """Start playing a clip; the name is not used. Raises: NoSoundCard."""
        self._card.play(clip)
        return ""

    def seconds_since_end(self) -> float:
        """Return the seconds since the clip ended, 0 while it plays."""
        return self._card.seconds_since_end()

    def wait(self) -> None:
        """Return when the clip has ended."""
        while not self._card.seconds_since_end():
            time.sleep(0.02)

    def stop(self) -> None:
        """Stop the clip that plays."""
        self._card.stop()


class ElsewhereOutput:
    """Plays nothing: the items sound elsewhere, such as from a loudspeaker in the room."""

    plays = False

    def __init__(self) -> None:
        """Start counting time."""
        self._played_at = time.monotonic()

    def play(self, clip: Clip, name: str) -> str:
        """Take note of the time; return a message that nothing is played here."""
        self._played_at = time.monotonic()
        return "It sounds in the room; nothing is played here."

    def seconds_since_end(self) -> float:
        """Return the seconds since the prompt for the item, because nobody knows when it ended."""
        return time.monotonic() - self._played_at

    def wait(self) -> None:
        """Return at once."""

    def stop(self) -> None:
        """Do nothing: nothing plays."""


class FileOutput:
    """Writes each clip as a WAV file into a folder; the user plays it with any program."""

    plays = False

    def __init__(self, folder: Path) -> None:
        """Make the folder. Raises: UserError."""
        self._folder = make_folder(folder)
        self._ends_at = time.monotonic()

    def play(self, clip: Clip, name: str) -> str:
        """Write a clip as NAME.wav and return a message with its path. Raises: UserError."""
        path = self._folder / f"{name}.wav"
        write_audio(path, clip)
        self._ends_at = time.monotonic() + clip.seconds
        return f"The sound is in {path}"

    def seconds_since_end(self) -> float:
        """Return the seconds since the clip would have ended if played when it was written."""
        return max(0.0, time.monotonic() - self._ends_at)

    def wait(self) -> None:
        """Return at once: the user's player plays the file."""

    def stop(self) -> None:
        """Do nothing: nothing plays."""
