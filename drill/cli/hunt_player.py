"""Plays the sound of a hunt in the terminal, or writes it into a file, and so lets time pass."""

import threading
import time
from pathlib import Path
from typing import Protocol

from drill.contact.air import samples
from drill.core.audio_files import load_soundfile
from drill.core.errors import FaintcallError, UserError
from drill.devices.stream_output import StreamPlayer
from drill.hunt.sound import BLOCK
from drill.hunt.stream import HuntStream, SoundBlock
from drill.radio import AUDIO_RATE_HZ

QUEUED_SAMPLES = 4 * BLOCK
"""Samples queued before the device: 128 ms."""
TURN_S = 5.0
"""Time that passes in one turn if the sound is written into a file."""
POLL_S = 0.004


class HuntPlayer(Protocol):
    """Lets the time of a hunt pass. runs: True if time passes by itself.

    last: the latest block of sound, None before the first.
    """

    runs: bool
    last: SoundBlock | None

    def start(self, stream: HuntStream) -> None:
        """Play a hunt from its present time."""
        ...

    def pass_turn(self, stream: HuntStream) -> None:
        """Let one turn of time pass; do nothing if time passes by itself."""
        ...

    def close(self) -> None:
        """Stop playing."""
        ...


class SoundCardPlayer:
    """Plays on the sound card; a thread keeps a few blocks waiting. Implements HuntPlayer."""

    runs = True

    def __init__(self) -> None:
        """Open the device. Raises: NoSoundCard."""
        self.last: SoundBlock | None = None
        self._output = StreamPlayer()
        self._thread: threading.Thread | None = None
        self._closed = False

    @property
    def underruns(self) -> int:
        """Number of times that samples came too late for the device."""
        return self._output.underruns

    def start(self, stream: HuntStream) -> None:
        """Play a hunt. See HuntPlayer."""
        self._thread = threading.Thread(
            target=self._run, args=(stream,), name="hunt sound", daemon=True
        )
        self._thread.start()

    def pass_turn(self, stream: HuntStream) -> None:
        """Do nothing: time passes by itself."""

    def close(self) -> None:
        """Stop playing and close the device."""
        self._closed = True
        if self._thread is not None:
            self._thread.join()
        self._output.close()

    def _run(self, stream: HuntStream) -> None:
        try:
            while not (self._closed or stream.ended):
                if self._output.waiting >= QUEUED_SAMPLES:
                    time.sleep(POLL_S)
                    continue
                block = stream.pull()
                if block is None:
                    if not stream.wait_until_ready(POLL_S):
                        self._output.halt()
                        stream.wait_until_ready(0.1)
                    continue
                self.last = block
                self._output.write(block.samples)
        except FaintcallError:
            return  # the simulation's thread reports the error


class FilePlayer:
    """Writes the sound into one WAV file; time passes turn by turn. Implements HuntPlayer."""

    runs = False

    def __init__(self, folder: Path) -> None:
        """Choose a new file in a folder. Raises: UserError if it cannot be written."""
        self.last: SoundBlock | None = None
        number = 1
        while (path := folder / f"hunt-{number:02d}.wav").exists():
            number += 1
        self.path = path
        try:
            folder.mkdir(parents=True, exist_ok=True)
            self._file = load_soundfile().SoundFile(
                path, "w", samplerate=AUDIO_RATE_HZ, channels=1, subtype="PCM_16"
            )
        except (OSError, RuntimeError) as error:
            raise UserError(f"{path} cannot be written: {error}", field="audio_to") from None

    def start(self, stream: HuntStream) -> None:
        """Do nothing: time passes turn by turn."""

    def pass_turn(self, stream: HuntStream) -> None:
        """Write the sound of the next TURN_S, or up to the end. Raises: NoVoice."""
        until = stream.now + samples(TURN_S)
        while stream.now < until and not stream.ended:
            block = stream.pull()
            if block is None:
                stream.wait_until_ready(1.0)
                continue
            self.last = block
            self._file.write(block.samples)

    def close(self) -> None:
        """Complete the file; delete it if nothing was written."""
        self._file.close()
        if self.last is None:
            self.path.unlink(missing_ok=True)
