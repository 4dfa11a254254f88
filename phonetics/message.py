"""Data of one over of a station: its words, the fields that they carry, and the whole message.

The answer to an item is scored against its message. Each word carries the characters that it
represents and the name of their field, so that a copying error can be traced to a word.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, kw_only=True, slots=True)
class Word:
    """One spoken word with its meaning.

    say: the word as a voice speaks it: lower case, letters, hyphen and apostrophe only ("x-ray").
    means: the written characters that the word carries ("X", "9", "26"); "" for a procedure word.
    field: name of the field that the characters belong to; "" for a procedure word.
    pause: pause after the word: "" none, "," short, "." long.
    """

    say: str
    means: str = ""
    field: str = ""
    pause: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Field:
    """One field to copy: name ("call", "zone"), kind (a key of FIELD_KINDS) and written text.

    optional_if: text that need not be typed, such as "59" for a report that the exchange declares
    optional; "" if the field is always required.
    """

    name: str
    kind: str
    text: str
    optional_if: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Message:
    """Everything that one station says in one over, in speaking order.

    part: "call", "exchange", "over", or a key of PHRASE_TEMPLATES. exchange: name of the exchange,
    "" for a call alone. call: the call sign of the speaking station, even if it is not a field.
    """

    part: str
    exchange: str
    call: str
    fields: tuple[Field, ...]
    words: tuple[Word, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the message as plain data for JSON; from_dict reverses it."""
        return asdict(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Message":
        """Return the message that to_dict wrote.

        Raises: KeyError or TypeError if keys are missing or unknown.
        """
        return cls(
            part=data["part"],
            exchange=data["exchange"],
            call=data["call"],
            fields=tuple(Field(**field) for field in data["fields"]),
            words=tuple(Word(**word) for word in data["words"]),
        )
