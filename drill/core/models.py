"""The nouns that pass between the rooms: all frozen, all plain data but the sound itself.

An item is everything that is heard, as data: from the same item the same sound is made again.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Conditions
from drill.core.structuring import from_data
from phonetics.message import Message

Samples = NDArray[np.float32]


@dataclass(frozen=True, kw_only=True, slots=True)
class Operator:
    """One speaking person: an engine, a voice of it, and how that voice is bent. Pure data.

    pitch_hz: median pitch aimed at, before the style. tract: scale of the vocal tract's resonances,
    1 as the engine has them, below 1 a longer tract (a larger person). pace: 1 is the engine's
    usual pace, above 1 quicker. breath_db: added to the breath noise. melody: scale of the pitch
    movement, 1 as is. accent: a key of the engine's accents, "" for none. hard: True where the
    recogniser gate is missed on purpose, offered only when asked for. style: how the person speaks,
    a key of drill/voices/data/styles.toml.
    """

    name: str
    engine: str
    voice: str
    pitch_hz: float
    tract: float = 1.0
    pace: float = 1.0
    breath_db: float = 0.0
    melody: float = 1.0
    accent: str = ""
    hard: bool = False
    style: str = "plain"


@dataclass(frozen=True, kw_only=True, slots=True)
class WordTime:
    """When one word sounds: its text, start and end in seconds from the start of the clip."""

    say: str
    start_s: float
    end_s: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Clip:
    """A stretch of mono sound: float32 samples (n,) at full scale 1, its rate, its words' times."""

    samples: Samples
    rate_hz: int
    words: tuple[WordTime, ...] = ()

    @property
    def seconds(self) -> float:
        """Return the length in seconds."""
        return len(self.samples) / self.rate_hz


@dataclass(frozen=True, kw_only=True, slots=True)
class Speech:
    """What one operator says."""

    message: Message
    operator: Operator


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """Everything heard in one item; the sound follows from it and from nothing else.

    neighbours: what the other stations say, one for each neighbour of the conditions.
    """

    seed: int
    message: Message
    operator: Operator
    conditions: Conditions
    neighbours: tuple[Speech, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON; from_dict gives the item back."""
        return {
            **asdict(self),
            "message": self.message.to_dict(),
            "neighbours": [
                {"message": speech.message.to_dict(), "operator": asdict(speech.operator)}
                for speech in self.neighbours
            ],
        }

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Item":
        """Return the item that to_dict wrote, of this version or of an older one.

        Raises: KeyError, TypeError or UserError where the data is something else.
        """
        return cls(
            seed=data["seed"],
            message=Message.from_dict(data["message"]),
            operator=Operator(**data["operator"]),
            conditions=from_data(Conditions, data["conditions"]),
            neighbours=tuple(
                Speech(
                    message=Message.from_dict(speech["message"]),
                    operator=Operator(**speech["operator"]),
                )
                for speech in data.get("neighbours", ())
            ),
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """What the trainee did: line typed, seconds since the sound ended, times heard again."""

    text: str
    seconds: float
    replays: int = 0
    gave_up: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Pair:
    """One column of an alignment: the character sent and the one copied; "" where there is none."""

    sent: str
    copied: str


@dataclass(frozen=True, kw_only=True, slots=True)
class FieldScore:
    """One field: what was sent and copied, aligned character by character, and whether it is right.

    hint: a sentence about a slip that is easily made (O for 0), empty where there is none.
    """

    name: str
    sent: str
    copied: str
    pairs: tuple[Pair, ...]
    right: bool
    hint: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Attempt:
    """The row that is kept: when, what, what was answered, how it was scored, by which version."""

    at: str
    item: Item
    answer: Answer
    scores: tuple[FieldScore, ...]
    version: str

    @property
    def right(self) -> bool:
        """Return True where the over is logged right: the call and every field."""
        return all(score.right for score in self.scores)
