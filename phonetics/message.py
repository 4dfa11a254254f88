"""The nouns of what is said: a spoken word, a field to be copied, a whole message.

A message is the truth of one item. Its words, in the order of speaking, each carry the characters
that they stand for and the field that these belong to, so that a miss can be traced to a word.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, kw_only=True, slots=True)
class Word:
    """One spoken word and the truth beside it.

    say: what a voice speaks, lower case, letters, hyphen and apostrophe only ("x-ray", "niner").
    means: the written characters that it carries ("X", "9", "26"), empty for a procedure word.
    field: name of the field that the characters belong to, empty for a procedure word.
    pause: the break after the word: "" none, "," short, "." long.
    """

    say: str
    means: str = ""
    field: str = ""
    pause: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Field:
    """One thing to copy: its name ("call", "zone"), its kind (a key of KINDS) and its written text.

    optional_if: text that may be left out of an answer without loss ("59" for a report that the
    exchange declares optional), empty where nothing may be left out.
    """

    name: str
    kind: str
    text: str
    optional_if: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Message:
    """What one station says in one over: the fields to copy and the words spoken.

    part: "call", "exchange" or "over". exchange: name of the exchange, empty for a lone call.
    call: the call sign of the station that speaks, also where it is no field to copy.
    """

    part: str
    exchange: str
    call: str
    fields: tuple[Field, ...]
    words: tuple[Word, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON; from_dict gives the message back."""
        return asdict(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Message":
        """Return the message that to_dict wrote.

        Raises: KeyError or TypeError where the data has other keys.
        """
        return cls(
            part=data["part"],
            exchange=data["exchange"],
            call=data["call"],
            fields=tuple(Field(**field) for field in data["fields"]),
            words=tuple(Word(**word) for word in data["words"]),
        )
