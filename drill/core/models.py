"""The frozen values that packages pass to each other: item, clip, answer, score, attempt.

An item is plain data and determines its audio: the same item always gives the same samples.

`to_data` and `from_data` of drill.core.structuring write them as JSON and read them. Records,
exports and item sets keep the key names of version 0.2.0: STORED_NAMES lists the fields that have
since been renamed.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Conditions
from phonetics.message import Message

Samples = NDArray[np.float32]


@dataclass(frozen=True, kw_only=True, slots=True)
class Operator:
    """A synthetic person: a speech engine, one of its voices, and how that voice is modified.

    name: unique name of the operator. engine: name of the speech engine. voice: the engine's name
    of the voice. pitch_hz: target median pitch in plain style. formant_scale: factor on the formant
    frequencies, 1 leaves the engine's own; below 1 sounds like a longer vocal tract, a larger
    person. pace: factor on the engine's usual speaking rate. breath_db: change of the breath noise.
    melody: factor on the pitch movement. accent: one of the engine's accents, "" for none. hard:
    the operator is deliberately hard to understand, fails the recogniser gate, and speaks only if
    requested by name. vocal_style: a key of drill/voices/people/styles.toml. ways: words that the
    operator says in a particular way, each followed by a space and its pronunciation in IPA; the
    engine's default applies to all others.
    """

    STORED_NAMES: ClassVar[Mapping[str, str]] = {"formant_scale": "tract", "vocal_style": "style"}
    NOT_STORED_IF_EMPTY: ClassVar[frozenset[str]] = frozenset({"ways"})

    name: str
    engine: str
    voice: str
    pitch_hz: float
    formant_scale: float = 1.0
    pace: float = 1.0
    breath_db: float = 0.0
    melody: float = 1.0
    accent: str = ""
    hard: bool = False
    vocal_style: str = "plain"
    ways: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class WordTime:
    """Time of one spoken word: its text, start and end in seconds from the start of the clip."""

    say: str
    start_s: float
    end_s: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Clip:
    """Mono audio: float32 samples of shape (n,), full scale 1, with the times of its words."""

    samples: Samples
    rate_hz: int
    words: tuple[WordTime, ...] = ()

    @property
    def seconds(self) -> float:
        """Duration in seconds."""
        return len(self.samples) / self.rate_hz


@dataclass(frozen=True, kw_only=True, slots=True)
class Transmission:
    """One message and the operator who speaks it."""

    message: Message
    operator: Operator


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """One thing to copy: everything that determines its audio, and nothing else.

    message, operator: of the wanted station. neighbours: one transmission for each neighbour in the
    conditions.
    """

    seed: int
    message: Message
    operator: Operator
    conditions: Conditions
    neighbours: tuple[Transmission, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """The trainee's answer to an item.

    typed: the line as typed. seconds: time from the end of the audio to the answer. replays: how
    often the audio was played again. gave_up: the trainee gave up, which scores 0.
    """

    STORED_NAMES: ClassVar[Mapping[str, str]] = {"typed": "text"}

    typed: str
    seconds: float
    replays: int = 0
    gave_up: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Pair:
    """One column of an alignment: a sent and a typed character, "" for a gap on that side."""

    STORED_NAMES: ClassVar[Mapping[str, str]] = {"typed": "copied"}

    sent: str
    typed: str


@dataclass(frozen=True, kw_only=True, slots=True)
class FieldScore:
    """Score of one field.

    name: name of the field. sent, typed: its text as sent and as typed. pairs: both texts aligned
    character by character. right: True if the field is correct. hint: a clause about a common
    error, such as O for 0, "" for none.
    """

    STORED_NAMES: ClassVar[Mapping[str, str]] = {"typed": "copied"}

    name: str
    sent: str
    typed: str
    pairs: tuple[Pair, ...]
    right: bool
    hint: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Attempt:
    """An answered item as stored in the record.

    answered_at: ISO 8601 with offset. version: the faintcall that scored the answer.
    """

    answered_at: str
    item: Item
    answer: Answer
    scores: tuple[FieldScore, ...]
    version: str

    @property
    def right(self) -> bool:
        """True if the call and every other field are right."""
        return all(score.right for score in self.scores)
