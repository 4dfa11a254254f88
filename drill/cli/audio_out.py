"""Where an item's sound goes in the terminal: the sound card, or files."""

import time
from pathlib import Path
from typing import Protocol

from drill.core import audio_files
from drill.core.models import Clip
from drill.devices.output import SoundCard


class Output(Protocol):
    """Something that takes a clip and tells how long ago its sound ended.

    plays: True where the sound is heard, False where it is only written.
    """

    plays: bool

    def play(self, clip: Clip, name: str) -> str:
        """Start the sound; return a sentence for the user, empty where the ears tell enough."""
        ...

    def seconds_since_end(self) -> float:
        """Return the seconds since the sound ended, 0 while it plays."""
        ...

    def wait(self) -> None:
        """Return when the sound has ended; at once where nothing plays."""
        ...

    def stop(self) -> None:
        """Stop what plays."""
        ...


class Speaker:
    """The sound card."""

    plays = True

    def __init__(self) -> None:
        """Open it. Raises: NoSoundCard."""
        self._card = SoundCard()

    def play(self, clip: Clip, name: str) -> str:
        """Start the sound. Raises: NoSoundCard."""
        self._card.play(clip)
        return ""

    def seconds_since_end(self) -> float:
        """Return the seconds since the sound ended, 0 while it plays."""
        return self._card.seconds_since_end()

    def wait(self) -> None:
        """Return when the sound has ended."""
        while not self._card.seconds_since_end():
            time.sleep(0.02)

    def stop(self) -> None:
        """Stop what plays."""
        self._card.stop()


class Files:
    """A folder; each sound is a WAV file there, to be played by whatever the user has."""

    plays = False

    def __init__(self, folder: Path) -> None:
        """Make the folder. Raises: UserError."""
        self._folder = audio_files.make_folder(folder)
        self._written_at = time.monotonic()

    def play(self, clip: Clip, name: str) -> str:
        """Write the file and say where it is. Raises: UserError."""
        path = self._folder / f"{name}.wav"
        audio_files.write_audio(path, clip)
        self._written_at = time.monotonic() + clip.seconds
        return f"The sound is in {path}"

    def seconds_since_end(self) -> float:
        """Return the seconds since the sound would have ended, had it started when written."""
        return max(0.0, time.monotonic() - self._written_at)

    def wait(self) -> None:
        """Do nothing: whoever plays the file waits for it."""

    def stop(self) -> None:
        """Do nothing: the file stays."""
