"""Records the words of a bank with a microphone, one after another.

A recording without faults is saved at once; one with faults is saved only if the speaker asks for
it. All output is plain lines, suitable for a screen reader; only the optional live meter moves.
"""

import sys
from collections.abc import Callable, Sequence
from enum import Enum
from typing import Protocol

import numpy as np

from drill.cli.keyboard import read_key
from drill.cli.speech_detection import (
    KEY_NOISE_S,
    LEAST_SPEECH_DB,
    SPEECH_ABOVE_BACKGROUND_DB,
    amplitude_db,
)
from drill.cli.wrapping import print_text
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.devices.microphone import BLOCK_S, InputLevel
from drill.voices.wordbank.background import BackgroundNoise, NoiseRating, measure_background
from drill.voices.wordbank.cut import CutWord, cut_word
from drill.voices.wordbank.signal_levels import BANK_RATE_HZ
from drill.voices.wordbank.storage import WordBank, save_word
from drill.voices.wordbank.wording import (
    as_sentence,
    background_sentence,
    fault_text,
    measurements_text,
)
from drill.voices.wordbank.words import WordGroup

_BACKGROUND_S = 2.0
_LONGEST_RECORDING_S = 5.0
_END_SILENCE_S = 0.6  # the recording ends after this much silence
_LEAST_SPEECH_BLOCKS = 3
_METER_WIDTH = 30


class _Step(Enum):
    """The next step after a word."""

    NEXT = "next"
    BACK = "back"
    STOP = "stop"


_STEP_KEYS = {"s": _Step.NEXT, "b": _Step.BACK, "q": _Step.STOP}


class RecordFunction(Protocol):
    """Records from the microphone; drill.devices.microphone.record_clip is one."""

    def __call__(
        self,
        *,
        seconds: float,
        until: Callable[[InputLevel], bool] | None = None,
        meter: Callable[[InputLevel], None] | None = None,
    ) -> Clip:
        """Return a recording of at most this many seconds."""
        ...


class WordRecorder:
    """Asks for words, records them and saves them in a bank.

    bank: the bank with the words saved so far. saved_count: how many words were saved.
    """

    def __init__(
        self,
        bank: WordBank,
        *,
        record: RecordFunction,
        play: Callable[[Clip], None],
        live_meter: bool = False,
    ) -> None:
        """Prepare recording into a bank.

        play: plays a clip to its end. live_meter: show a moving level meter while recording, if the
        output is a terminal.
        """
        self.bank = bank
        self.saved_count = 0
        self._record = record
        self._play = play
        self._live_meter = live_meter and sys.stdout.isatty()
        self._noise: BackgroundNoise | None = None
        self._speech_threshold_db = LEAST_SPEECH_DB
        self._last_word: CutWord | None = None

    def run(self, groups: Sequence[WordGroup]) -> None:
        """Record the words of all groups until they are done or the speaker stops.

        Raises: NoMicrophone, EOFError, KeyboardInterrupt; the words saved until then are on disk.
        """
        self._measure_background()
        for group in groups:
            step = self._announce(group)
            if step is None:
                step = self._record_words(group.words)
            if step is _Step.STOP:
                return

    def _measure_background(self) -> None:
        input(
            "First, the background noise. Press Enter, then stay quiet for "
            f"{_BACKGROUND_S:g} seconds. "
        )
        while True:
            levels: list[InputLevel] = []
            clip = self._record(seconds=_BACKGROUND_S, meter=levels.append)
            self._noise = measure_background(clip.samples, clip.rate_hz)
            # A percentile, so that a single cough does not raise the threshold.
            usual_db = amplitude_db(float(np.percentile([level.rms for level in levels], 75)))
            self._speech_threshold_db = max(usual_db + SPEECH_ABOVE_BACKGROUND_DB, LEAST_SPEECH_DB)
            print_text(background_sentence(self._noise))
            if self._noise.rating not in (NoiseRating.NOISY, NoiseRating.SILENT):
                return
            if not read_key("Enter: continue anyway. r: measure again. ", ("", "r")):
                return

    @staticmethod
    def _announce(group: WordGroup) -> _Step | None:
        """Print the group's title; return NEXT to skip it, STOP, or None to record it."""
        print(f"\n{group.title[0].upper()}{group.title[1:]}: {len(group.words)} to record.")
        if not group.optional:
            return None
        print("These are optional: faintcall replaces missing ones with other words.")
        key = read_key("Enter: record them. s: skip them. q: stop. ", ("", "s", "q"))
        return _STEP_KEYS[key] if key else None

    def _record_words(self, words: Sequence[str]) -> _Step:
        """Record the words; return STOP if the speaker stops, else NEXT."""
        index = 0
        while index < len(words):
            print(f"\nWord {index + 1} of {len(words)}: {words[index]}")
            step = self._record_word(words[index])
            if step is _Step.STOP:
                return step
            index = max(0, index - 1) if step is _Step.BACK else index + 1
        return _Step.NEXT

    def _record_word(self, word: str) -> _Step:
        """Record a word until it is saved or the speaker skips it."""
        while True:
            keys = ("", "p", "s", "b", "q") if self._last_word else ("", "s", "b", "q")
            play = "p: play the last recording. " if self._last_word else ""
            key = read_key(f"Enter: record. {play}s: skip. b: back. q: stop. ", keys)
            if key == "p":
                self._play_last_word()
            elif key:
                return _STEP_KEYS[key]
            else:
                step = self._record_until_saved(word)
                if step is not None:
                    return step

    def _record_until_saved(self, word: str) -> _Step | None:
        """Record a word again and again until it is saved; return None if no word was heard."""
        while True:
            recording = self._record_once(word)
            if recording is None:
                return None
            print(f"{word}: {measurements_text(recording)}.")
            self._last_word = recording
            key = self._key_for_faults(recording)
            if key == "k":
                self.bank = save_word(self.bank, word, recording.samples, recording.seconds)
                self.saved_count += 1
                print("Saved.")
                return _Step.NEXT
            if key:
                return _STEP_KEYS[key]

    def _key_for_faults(self, recording: CutWord) -> str:
        """Print the faults and return "k" to save the recording, "" to repeat it, or a step key."""
        if not recording.faults:
            return "k"
        for fault in recording.faults:
            print(f"  {as_sentence(fault_text(fault, recording))}")
        prompt = "Enter: record again. k: keep it. p: play it. s: skip. b: back. q: stop. "
        while True:
            key = read_key(prompt, ("", "k", "p", "s", "b", "q"))
            if key != "p":
                return key
            self._play_last_word()

    def _record_once(self, word: str) -> CutWord | None:
        """Record a word once; return None, after a message, if the recording is unusable."""
        meter = _Meter(word, live=self._live_meter)
        clip = self._record(
            seconds=_LONGEST_RECORDING_S,
            until=_WordEndDetector(self._speech_threshold_db),
            meter=meter,
        )
        if self._live_meter:
            print()
        if meter.samples_lost:
            print("Some sound was lost because the computer is busy. Please record it again.")
            return None
        try:
            noise_db = None if self._noise is None else self._noise.level_db
            return cut_word(clip.samples, clip.rate_hz, noise_db=noise_db)
        except UserError as error:
            print(f"Not saved: {error}.")
            return None

    def _play_last_word(self) -> None:
        if self._last_word is not None:
            self._play(Clip(samples=self._last_word.samples, rate_hz=BANK_RATE_HZ))


class _Meter:
    """Follows the levels of a recording: prompts for the word and draws the live meter."""

    def __init__(self, word: str, *, live: bool) -> None:
        self._word = word
        self._live = live
        self.samples_lost = False

    def __call__(self, level: InputLevel) -> None:
        if level.end_s <= BLOCK_S * 1.5:
            print(f"Say now: {self._word}", flush=True)
        elif level.overflowed:
            self.samples_lost = True
        if self._live:
            level_db = amplitude_db(level.rms)
            bar = "#" * max(0, min(_METER_WIDTH, round((level_db + 60) / 2)))
            print(f"\r{level_db:4.0f} dB {bar:{_METER_WIDTH}}", end="", flush=True)


class _WordEndDetector:
    """Returns True for the level at which a word has been heard and has ended."""

    def __init__(self, threshold_db: float) -> None:
        self._threshold_db = threshold_db
        self._speech_blocks = 0
        self._silent_blocks = 0

    def __call__(self, level: InputLevel) -> bool:
        if amplitude_db(level.rms) > self._threshold_db:
            self._speech_blocks += level.end_s > KEY_NOISE_S
            self._silent_blocks = 0
        else:
            self._silent_blocks += 1
        heard = self._speech_blocks >= _LEAST_SPEECH_BLOCKS
        return heard and self._silent_blocks * BLOCK_S >= _END_SILENCE_S
