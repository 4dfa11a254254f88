"""The walk through the words of a bank: read, speak, be told, go on.

A take without fault is kept at once; one with a fault is kept only when that is asked for. Every
line is a sentence; nothing moves unless a moving meter was asked for.
"""

import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from drill.cli.keyboard import choose
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.devices.microphone import BLOCK_S, Level
from drill.voices.wordbank import folder
from drill.voices.wordbank.cut import RATE_HZ, Cut, cut
from drill.voices.wordbank.room import NOISY_DB, Background, background
from drill.voices.wordbank.words import Group

if TYPE_CHECKING:
    from drill.voices.wordbank.folder import Bank

ROOM_S = 2.0
WORD_S = 5.0
QUIET_S = 0.6  # after a word, for so long, and the recording ends
ABOVE_DB = 10.0  # over the background: somebody speaks
LEAST_DB = -55.0
SPOKEN_BLOCKS = 3
KEY_S = 0.3  # so long after the start, what is heard may be the key that started it
WIDTH = 30  # of the moving meter

NEXT, BACK, STOP = "next", "back", "stop"
KEEP = "k"
KEYS = {"s": NEXT, "b": BACK, "q": STOP}

Record = Callable[..., Clip]
Play = Callable[[Clip], None]


class Walk:
    """One sitting at the microphone.

    record: as drill.devices.microphone.record. play: plays a clip to its end. moving: show a meter that
    moves while a word is recorded.
    """

    def __init__(self, bank: "Bank", *, record: Record, play: Play, moving: bool = False) -> None:
        """Take the bank that is to be filled."""
        self.bank = bank
        self._record = record
        self._play = play
        self._moving = moving and sys.stdout.isatty()
        self._room: Background | None = None
        self._threshold_db = LEAST_DB
        self._last: Cut | None = None
        self.kept = 0

    def run(self, groups: Sequence[Group]) -> None:
        """Walk through the groups until they are done or the speaker stops.

        Raises: NoMicrophone, EOFError, KeyboardInterrupt; every word kept is on the disk by then.
        """
        self._listen_to_the_room()
        for group in groups:
            step = self._begin(group)
            if step == STOP or (not step and not self._through(group.words)):
                return

    def _listen_to_the_room(self) -> None:
        input(f"First the room: press Enter, then keep still for {ROOM_S:g} seconds. ")
        while True:
            levels: list[Level] = []
            clip = self._record(seconds=ROOM_S, meter=levels.append)
            self._room = background(clip.samples, clip.rate_hz)
            # A cough is not to raise the threshold: the level that is usual counts.
            usual_db = _db(float(np.percentile([level.rms for level in levels], 75)))
            self._threshold_db = max(usual_db + ABOVE_DB, LEAST_DB)
            print(self._room.sentence)
            noisy = self._room.level_db > NOISY_DB
            if not noisy or not choose("Enter: go on all the same. r: again. ", ("", "r")):
                return

    @staticmethod
    def _begin(group: Group) -> str:
        """Name the group; return NEXT to skip it, STOP, or "" to record it."""
        print(f"\n{group.title[0].upper()}{group.title[1:]}: {len(group.words)} to record.")
        if not group.optional:
            return ""
        print("Without them, other words are said.")
        choice = choose("Enter: go on. s: skip these. q: stop. ", ("", "s", "q"))
        return KEYS.get(choice, "")

    def _through(self, words: Sequence[str]) -> bool:
        """Record the words; return False where the speaker stops."""
        at = 0
        while at < len(words):
            print(f"\nWord {at + 1} of {len(words)}: {words[at]}")
            step = self._word(words[at])
            if step == STOP:
                return False
            at = max(0, at - 1) if step == BACK else at + 1
        return True

    def _word(self, word: str) -> str:
        """Record one word until it is kept or left; return where to go."""
        while True:
            play = "p: play the last. " if self._last is not None else ""
            prompt = f"Enter: record. {play}s: skip. b: back. q: stop. "
            choice = choose(prompt, ("", "s", "b", "q", "p") if play else ("", "s", "b", "q"))
            if choice == "p":
                self._play_last()
            elif choice:
                return KEYS[choice]
            else:
                step = self._take(word)
                if step:
                    return step

    def _take(self, word: str) -> str:
        """Record takes until one is kept; return where to go, "" where no word was heard."""
        while True:
            made = self._heard(word)
            if made is None:
                return ""
            print(f"{word}: {made.sentence}.")
            self._last = made
            choice = self._verdict(made)
            if choice == KEEP:
                self.bank = folder.keep(self.bank, word, made.samples, made.seconds)
                self.kept += 1
                print("Kept.")
                return NEXT
            if choice:
                return KEYS[choice]

    def _verdict(self, made: Cut) -> str:
        """Return what is to be done with a take: KEEP, "" for another one, or a key."""
        for fault in made.faults:
            print(f"  {fault[0].upper()}{fault[1:]}.")
        while made.faults:
            prompt = "Enter: record again. k: keep it. p: play. s: skip. b: back. q: stop. "
            choice = choose(prompt, ("", KEEP, "p", "s", "b", "q"))
            if choice != "p":
                return choice
            self._play_last()
        return KEEP

    def _heard(self, word: str) -> Cut | None:
        """Return what was said, None (and told) where no word was."""
        ending = _Ending(self._threshold_db)
        lost = []

        def meter(level: Level) -> None:
            if level.at_s <= BLOCK_S * 1.5:
                print(f"Say now: {word}", flush=True)
            elif level.lost:
                lost.append(level.at_s)
            if self._moving:
                bar = "#" * max(0, min(WIDTH, round((_db(level.rms) + 60) / 2)))
                print(f"\r{_db(level.rms):4.0f} dB {bar:{WIDTH}}", end="", flush=True)

        clip = self._record(seconds=WORD_S, until=ending, meter=meter)
        if self._moving:
            print()
        if lost:
            print("Samples were lost on the way, the machine is busy. Record it again.")
            return None
        try:
            room_db = None if self._room is None else self._room.level_db
            return cut(clip.samples, clip.rate_hz, noise_db=room_db)
        except UserError as error:
            print(f"Not kept: {error}.")
            return None

    def _play_last(self) -> None:
        if self._last is not None:
            self._play(Clip(samples=self._last.samples, rate_hz=RATE_HZ))


class _Ending:
    """Tells when a word is over: it was heard, and it has been quiet since."""

    def __init__(self, threshold_db: float) -> None:
        self._threshold_db = threshold_db
        self._loud = 0
        self._quiet = 0

    def __call__(self, level: Level) -> bool:
        if _db(level.rms) > self._threshold_db:
            self._loud += level.at_s > KEY_S
            self._quiet = 0
        else:
            self._quiet += 1
        return self._loud >= SPOKEN_BLOCKS and self._quiet * BLOCK_S >= QUIET_S


def _db(amplitude: float) -> float:
    return float(20 * np.log10(max(amplitude, 1e-6)))
