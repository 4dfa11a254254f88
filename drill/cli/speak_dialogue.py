"""The dialogue about one prompt: ask, record, review, send to the far end.

The output is plain lines of text that never change afterwards, so that a screen reader can follow.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from drill import __version__
from drill.cli.saving import save_with_retries
from drill.cli.tables import print_blocks
from drill.cli.wrapping import print_text
from drill.core.audio_files import make_folder, read_audio, write_audio
from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.core.structuring import to_data
from drill.devices.microphone import RecordingInterrupted
from drill.recogniser import OWN_RECOGNISER, Recogniser, find_recogniser
from drill.records.store import Store
from drill.sending.describe import (
    INDEX_NOTE,
    describe_change,
    describe_far_end,
    describe_finding,
    describe_prompt,
    describe_verdict,
)
from drill.sending.describe_copies import copies_passage
from drill.sending.far_copies import copy_far_ends
from drill.sending.far_end import FarEnds, simulate_far_ends
from drill.sending.history import previous_review
from drill.sending.models import Prompt, Review, Take
from drill.sending.review import compare_reviews, review_take
from drill.sending.voice_doubt import check_recent_takes, describe_voice_doubt
from phonetics.exchanges import Exchange


class TakeSource(Protocol):
    """Source of a take: a file or a microphone."""

    def record(self) -> Clip:
        """Return what the trainee says. Raises: UserError, NoMicrophone."""
        ...


class FileSource:
    """An existing recording."""

    def __init__(self, path: Path) -> None:
        """Prepare to read a file."""
        self._path = path

    def record(self) -> Clip:
        """Return the file's audio. Raises: UserError if it cannot be read."""
        return read_audio(self._path)


@dataclass(frozen=True, kw_only=True)
class SpeakDialogue:
    """Records a take of a prompt, reviews it, and renders it as heard at the far end.

    conditions, path_snr_db: of the path to the far end; the SNR in 3 kHz is that of 100 W.
    far_end_folder: for the sounds of the far end, None to write none. take_folder: for the takes,
    None to discard their audio.
    """

    store: Store
    source: TakeSource
    conditions: Conditions
    path_snr_db: float
    far_end_folder: Path | None = None
    take_folder: Path | None = None
    exchange: Exchange | None = None
    recogniser: Recogniser | None = None

    def run(self, prompt: Prompt) -> None:
        """Record a take and print its review and far end.

        Raises: as `review` and `show_far_end`.
        """
        clip, review = self.review(prompt)
        self.show_far_end(prompt, clip, review)

    def review(self, prompt: Prompt, first: Review | None = None) -> tuple[Clip, Review]:
        """Record a take, print its review, store the review; return both.

        first: review to compare with, None for the last take of the same words in the record.

        Raises: UserError; NoRecogniser; NoMicrophone, in which case the recording so far is kept
        like a take.
        """
        now = datetime.now(UTC)
        try:
            clip = self.source.record()
        except RecordingInterrupted as error:
            if error.recording.samples.any():
                self._keep_take(error.recording, now)
            raise
        # The take is saved before the review, so that an error there cannot lose it.
        self._keep_take(clip, now)
        review = review_take(Take(prompt=prompt, clip=clip), self.recogniser)
        for line in review_lines(review):
            print_text(line)
        previous = previous_review(self.store, prompt, review)
        if first is not None and first.delivered_share and review.delivered_share:
            print_text(describe_change(compare_reviews(first, review), "your first try"))
        elif previous is not None:
            change = compare_reviews(previous, review)
            print_text(describe_change(change, "your last take of the same prompt"))
        save_with_retries(
            lambda: self.store.add_take(
                to_data(prompt), to_data(review), now=now, version=__version__
            ),
            "this review",
        )
        doubt = describe_voice_doubt(check_recent_takes(self.store, review))
        if doubt:
            print_text(doubt)
        return clip, review

    def show_far_end(
        self, prompt: Prompt, clip: Clip, review: Review, file_prefix: str = ""
    ) -> FarEnds:
        """Print how a take arrives at the far end, write its sounds, and return it.

        file_prefix: start of the names of the files. Raises: UserError, NoVoice, NoRecogniser.
        """
        ends = simulate_far_ends(
            clip, prompt, self.conditions, path_snr_db=self.path_snr_db, seed=prompt.seed
        )
        if review.right:
            self._show_copies(prompt, clip)
            print()
        for line in far_end_lines(ends, review):
            print_text(line)
        if self.far_end_folder is not None:
            folder = make_folder(self.far_end_folder)
            for name, sound in far_end_sounds(ends):
                write_audio(folder / f"{file_prefix}{name}.wav", sound)
            print_text(f"The sounds of the far end are in {folder}. They are for your ears only.")
        return ends

    def _show_copies(self, prompt: Prompt, clip: Clip) -> None:
        """Print what the recogniser copies of a take at the far end."""
        own = find_recogniser(OWN_RECOGNISER)
        copies = copy_far_ends(
            clip,
            prompt,
            self.exchange,
            self.conditions,
            self.recogniser or own,
            reference_recogniser=own,
            path_snr_db=self.path_snr_db,
            seed=prompt.seed,
        )
        print_blocks([copies_passage(copies, prompt)])

    def _keep_take(self, clip: Clip, now: datetime) -> None:
        """Write a take as a FLAC file if takes are kept."""
        if self.take_folder is None:
            return
        path = make_folder(self.take_folder) / f"take-{now:%Y%m%d-%H%M%S-%f}.flac"
        write_audio(path, clip)
        print_text(f"The take is saved as {path}.")


def far_end_sounds(ends: FarEnds) -> Iterator[tuple[str, Clip]]:
    """Yield the sounds of the far end with their names: at each power the take, then the voice."""
    for end in ends.ends:
        yield f"take-{end.watts:g}w", end.clip
        yield f"{ends.operator}-{end.watts:g}w", end.reference_clip


def print_prompt(prompt: Prompt) -> None:
    """Print the text of a prompt."""
    print_text(describe_prompt(prompt))
    print_text(f"To be sent: {prompt.text}. This is practice; nothing is transmitted.")


def review_lines(review: Review) -> Iterator[str]:
    """Yield a review line by line."""
    recognised = " ".join(word.spoken for word in review.words if word.spoken)
    yield f"Recognised: {recognised or 'nothing'}."
    yield describe_verdict(review)
    sound = review.sound
    noise = ""
    if sound.speech_to_noise_db is not None:
        noise = f", noise {sound.speech_to_noise_db:.0f} dB below it"
    yield (
        f"{review.pace_wpm:.0f} words per minute, longest pause {review.longest_pause_s:.1f} s; "
        f"speech at {sound.level_db:.0f} dB re full scale, peak {sound.peak_db:.0f} dB{noise}."
    )
    for finding in review.findings:
        text = describe_finding(finding)
        yield f"{finding.severity.capitalize()}: {text.sentence} {text.remedy}"
    if not review.findings:
        yield "No faults found."


def far_end_lines(ends: FarEnds, review: Review) -> Iterator[str]:
    """Yield how a take arrives at the far end, line by line."""
    yield f"At the far end (ESTOI, 0 to 1; {INDEX_NOTE}):"
    for end in ends.ends:
        yield (
            f"  {end.watts:g} W, SNR {end.snr_db:.1f} dB: you {end.index:.2f}, "
            f"{ends.operator} {end.reference_index:.2f}"
        )
    for sentence in describe_far_end(ends, review):
        yield f"  {sentence}"
