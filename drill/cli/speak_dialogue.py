"""The dialogue about one prompt: ask, take, review, send to the far end, tell.

Every line is a sentence or a row of words; nothing moves, so that a screen reader can follow.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from drill import __version__

if TYPE_CHECKING:
    from drill.core.conditions import Conditions
    from drill.core.models import Clip
    from drill.records.store import Store
    from drill.sending.far import FarEnds
    from drill.sending.models import Prompt, Review


class Source(Protocol):
    """Where a take comes from: a file, or a microphone."""

    def take(self, prompt: "Prompt") -> "Clip":
        """Return what was said to a prompt. Raises: UserError, ResourceUnavailable."""
        ...


class FileSource:
    """A recording that is there already."""

    def __init__(self, path: Path) -> None:
        """Take the file's path."""
        self._path = path

    def take(self, prompt: "Prompt") -> "Clip":
        """Return the file's sound. Raises: UserError."""
        from drill.core.audio_files import read_audio

        return read_audio(self._path)


@dataclass(frozen=True, kw_only=True)
class Round:
    """One prompt from the asking to the telling.

    conditions, path_snr_db: of the path to the far end, 100 W. folder: for the sounds of the far
    end, None for none. takes: folder in which the take itself is kept, None for throwing it away.
    """

    store: "Store"
    source: Source
    conditions: "Conditions"
    path_snr_db: float
    folder: Path | None = None
    takes: Path | None = None

    def run(self, asked: "Prompt") -> None:
        """Take it and tell about it. Raises: UserError, ResourceUnavailable."""
        clip, found = self.hear(asked)
        self.send(asked, clip, found)

    def hear(self, asked: "Prompt", first: "Review | None" = None) -> tuple["Clip", "Review"]:
        """Take it, tell what was heard, keep the review; return the take and the review.

        first: what it is held against, None for the last take of the same in the record.
        Raises: UserError; NoMicrophone, what was heard until then being kept as a take is;
        NoRecogniser.
        """
        from drill.core.errors import NoMicrophone
        from drill.devices.microphone import RecordingInterrupted
        from drill.sending.describe import changed
        from drill.sending.history import held_against
        from drill.sending.models import Take
        from drill.sending.review import change, review

        now = datetime.now(UTC)
        try:
            clip = self.source.take(asked)
        except NoMicrophone as lack:
            if isinstance(lack, RecordingInterrupted) and lack.recording.samples.any():
                self._keep(lack.recording, now)
            raise
        self._keep(clip, now)  # first of all: a take that cannot be reviewed is not lost either
        found = review(Take(prompt=asked, clip=clip))
        for line in told(found):
            print(line)
        before = held_against(self.store, asked, found)
        if first is not None and first.came and found.came:
            print(changed(change(first, found), "your first try"))
        elif before is not None:
            print(changed(change(before, found), "your last take of the same"))
        self.store.add_take(asked.to_dict(), found.to_dict(), now=now, version=__version__)
        return clip, found

    def send(self, asked: "Prompt", clip: "Clip", found: "Review", prefix: str = "") -> "FarEnds":
        """Send a take to the far end and tell what is left of it; return it.

        prefix: of the names of the files. Raises: UserError, NoVoice.
        """
        from drill.sending.far import far_ends

        ends = far_ends(clip, asked, self.conditions, path_snr_db=self.path_snr_db, seed=asked.seed)
        for line in far_lines(ends, found):
            print(line)
        if self.folder is not None:
            self._write(ends, prefix)
        return ends

    def _keep(self, clip: "Clip", now: datetime) -> None:
        from drill.core import audio_files

        if self.takes is None:
            return
        path = audio_files.make_folder(self.takes) / f"take-{now:%Y%m%d-%H%M%S-%f}.flac"
        audio_files.write_audio(path, clip)
        print(f"The take is kept as {path}.")

    def _write(self, ends: "FarEnds", prefix: str) -> None:
        from drill.core import audio_files

        assert self.folder is not None
        folder = audio_files.make_folder(self.folder)
        for name, clip in far_sounds(ends):
            audio_files.write_audio(folder / f"{prefix}{name}.wav", clip)
        print(f"The sounds of the far end are in {folder}. They are for your ears only.")


def far_sounds(ends: "FarEnds") -> "Iterator[tuple[str, Clip]]":
    """Give the sounds of the far end with their names: at every power the take, then the voice."""
    for end in ends.ends:
        yield f"take-{end.watts:g}w", end.clip
        yield f"{ends.operator}-{end.watts:g}w", end.reference_clip


def say_prompt(asked: "Prompt") -> None:
    """Print what is asked for."""
    print(f"{asked.says}")
    print(f"To be sent: {asked.text}. Practice only, nothing is transmitted.")


def told(found: "Review") -> Iterator[str]:
    """Give what a review says, line by line."""
    from drill.sending.describe import verdict

    heard = " ".join(one.say for one in found.heard if one.say)
    yield f"Heard: {heard or 'nothing that was made out'}."
    yield verdict(found)
    sound = found.sound
    noise = "" if sound.noise_db is None else f", noise {sound.noise_db:.0f} dB below it"
    yield (
        f"{found.pace_wpm:.0f} words a minute, longest pause {found.longest_pause_s:.1f} s; voice "
        f"at {sound.level_db:.0f} dB of full scale, peak {sound.peak_db:.0f} dB{noise}."
    )
    for finding in found.findings:
        yield f"{finding.weight.capitalize()}: {finding.says} {finding.remedy}"
    if not found.findings:
        yield "Nothing to find fault with."


def far_lines(ends: "FarEnds", found: "Review") -> Iterator[str]:
    """Give what the channel leaves of a take, line by line."""
    from drill.sending.describe import far_told

    yield f"At the far end (ESTOI, 0 to 1; {ends.label}):"
    for end in ends.ends:
        yield (
            f"  {end.watts:g} W, SNR {end.snr_db:.1f} dB: you {end.index:.2f}, "
            f"{ends.operator} {end.reference:.2f}"
        )
    for line in far_told(ends, found):
        yield f"  {line}"
