"""Overs on the air, and their reception at both ends, either as lengths only or as rendered sound.

Conventions
-----------
* Time is counted in samples of AUDIO_RATE_HZ from the moment when the trainee tunes in.
* Levels are SNR in 3 kHz at the receiving end, before fading.
* While a station transmits it hears nothing.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from drill.contact.overs import Over
from drill.core.models import Clip, Operator
from drill.radio import AUDIO_RATE_HZ
from phonetics.message import Word

OVERLAP_S = 0.05
"""Overlaps of a word with another voice that are shorter than this do not disturb it."""


def samples(seconds: float) -> int:
    """Return a time in seconds as samples."""
    return round(seconds * AUDIO_RATE_HZ)


@dataclass(frozen=True, kw_only=True, slots=True)
class Participant:
    """A station as it arrives at both ends.

    far_db, near_db: SNR at the far operator's and at the trainee's receiver before fading, None if
    it cannot be heard there. path_seed: determines its fading. pace: factor on the lengths of
    words. operator: its voice, None with the accelerated clock or for the microphone.
    off_frequency_hz: mistuning at the trainee's receiver.
    """

    name: str
    path_seed: int
    far_db: float | None = None
    near_db: float | None = None
    pace: float = 1.0
    operator: Operator | None = None
    off_frequency_hz: float = 0.0
    processing: str = "none"

    def level_db(self, end: str) -> float | None:
        """Return the SNR at one end: "far" or "near"."""
        return self.far_db if end == "far" else self.near_db


@dataclass(frozen=True, kw_only=True, eq=False)
class OnAir:
    """An over on the air: from start to end in samples, with start and end of every word.

    number: number of earlier overs of this speaker. end lies before the end of the last word if the
    over was broken off.
    """

    participant: Participant
    over: Over
    number: int
    start: int
    end: int
    times: tuple[tuple[int, int], ...]

    @property
    def speaker(self) -> str:
        """Name of the speaker."""
        return self.participant.name

    def broken_off(self, now: int) -> "OnAir":
        """Return the same over, broken off at this time."""
        return replace(self, end=now)


@dataclass(frozen=True, kw_only=True, slots=True)
class ArrivedWord:
    """A received word: start and end in seconds from the start of its over, and mean SNR.

    snr_db: includes fading and other voices. crowded: other voices are stronger than the noise.
    """

    word: Word
    start_s: float
    end_s: float
    snr_db: float
    crowded: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class ArrivedVoice:
    """A received over: the words that were not lost, and its mean SNR before fading.

    start, end: in samples from the start of the contact.
    """

    speaker: str
    number: int
    start: int
    end: int
    words: tuple[ArrivedWord, ...]
    level_db: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Reception:
    """The reception at one end between two times, in samples.

    voices: the voices that can be distinguished, in order of their ends. clip: renders the sound;
    None with the accelerated clock.
    """

    start: int
    end: int
    voices: tuple[ArrivedVoice, ...]
    clip: Callable[[], Clip] | None = None


class Air(Protocol):
    """Speech and radio path of one frequency."""

    def key(self, participant: Participant, over: Over, number: int, start: int) -> OnAir:
        """Return an over as it will be on the air; start: time of keying, in samples."""
        ...

    def receive(
        self, end: str, on_air: Sequence[OnAir], start: int, stop: int, *, told: Sequence[OnAir]
    ) -> Reception:
        """Return the reception at the end "far" or "near" between two times.

        on_air: every over that may overlap this time, except those of the receiving station. told:
        the overs whose words are required.
        """
        ...


FadeDb = Callable[[OnAir, int, int], float]
"""Mean gain of an over's path in dB between two times in samples."""


def arrived_voices(
    end: str, on_air: Sequence[OnAir], told: Sequence[OnAir], start: int, fade_db: FadeDb
) -> tuple[ArrivedVoice, ...]:
    """Return the words of overs with their SNR; words that began before `start` are lost."""
    voices = []
    for over in sorted(told, key=lambda entry: entry.end):
        level_db = over.participant.level_db(end)
        if level_db is None:
            continue
        others = [
            (other, other_db)
            for other in on_air
            if other is not over and other.end > over.start and other.start < over.end
            if (other_db := other.participant.level_db(end)) is not None
        ]
        words = [
            _arrived_word(level_db, over, index, others, fade_db)
            for index, (begin, finish) in enumerate(over.times)
            if begin >= start and finish <= over.end
        ]
        voices.append(
            ArrivedVoice(
                speaker=over.speaker,
                number=over.number,
                start=over.start,
                end=over.end,
                words=tuple(words),
                level_db=level_db,
            )
        )
    return tuple(voices)


def _arrived_word(
    level_db: float,
    over: OnAir,
    index: int,
    others: Sequence[tuple[OnAir, float]],
    fade_db: FadeDb,
) -> ArrivedWord:
    """Return a word of an over. level_db: of the over. others: overs on the air, with levels."""
    begin, finish = over.times[index]
    disturbance = 0.0
    for other, other_db in others:
        overlap = min(finish, other.end) - max(begin, other.start)
        if overlap <= samples(OVERLAP_S):
            continue
        power_db = other_db + fade_db(other, begin, finish)
        disturbance += 10 ** (power_db / 10) * overlap / (finish - begin)
    return ArrivedWord(
        word=over.over.words[index],
        start_s=(begin - over.start) / AUDIO_RATE_HZ,
        end_s=(finish - over.start) / AUDIO_RATE_HZ,
        snr_db=level_db + fade_db(over, begin, finish) - 10 * math.log10(1 + disturbance),
        crowded=disturbance > 1,
    )
