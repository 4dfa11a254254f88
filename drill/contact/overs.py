"""Overs with their speakers and words, composed from decisions of the far operator and acts of the
trainee."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random

from drill.core.models import Clip, Operator
from drill.voices.wordbank.bank_operators import reword_for_operator
from phonetics.alphabets import spell
from phonetics.field_kinds import FIELD_KINDS
from phonetics.message import Field, Word
from phonetics.over_style import PLAIN_OVER_STYLE, OverStyle

MISSED = "?"
"""A character that was not made out."""
FAR, TRAINEE = "far", "trainee"
"""Names of the two main speakers; callers are "caller 1" and so on."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Over:
    """One over. kind: what it is, for records and debriefs.

    words: as spoken; empty for an over from the microphone, which has `clip` instead and, in
    `said`, the recognised words. call: the call of another station as this over says it, MISSED for
    characters that are left out.
    """

    kind: str
    words: tuple[Word, ...]
    call: tuple[str, ...] = ()
    clip: Clip | None = None
    said: str = ""

    @property
    def text(self) -> str:
        """The spoken words as one line."""
        if not self.words:
            return self.said
        return " ".join(word.say + word.pause for word in self.words)


def joined_over(first: Over, second: Over) -> Over:
    """Return two overs of the trainee as one; the second continues the first's transmission."""
    words = first.words
    if words:
        words = (*words[:-1], replace(words[-1], pause=","))
    return replace(second, kind=f"{first.kind}+{second.kind}", words=(*words, *second.words))


@dataclass(frozen=True, kw_only=True, slots=True)
class Speaker:
    """A station that speaks: call, exchange, operator and habits.

    fields: of the exchange that it sends, in order. operator: None with the accelerated clock.
    """

    call: str
    fields: tuple[Field, ...]
    operator: Operator | None = None
    over_style: OverStyle = PLAIN_OVER_STYLE

    @property
    def short_fields(self) -> tuple[Field, ...]:
        """The exchange without a report that may be left out."""
        return tuple(field for field in self.fields if not field.optional_if) or self.fields

    def say(self, rng: Random, template: str, *, part: str = "") -> tuple[Word, ...]:
        """Return the words of a template.

        template: plain words and {call}, {part}, {exchange}, {short}; a comma or full stop is the
        pause after a word. part: characters that {part} spells, such as another station's call.
        """
        words: list[Word] = []
        for token in template.split():
            pause = token[-1] if token[-1] in ",." else ""
            words += _with_pause(self._token_words(rng, token.rstrip(",."), part), pause)
        if self.operator is not None:
            return tuple(reword_for_operator(words, self.operator))
        return tuple(words)

    def _token_words(self, rng: Random, token: str, part: str) -> tuple[Word, ...]:
        if token == "{call}":
            return FIELD_KINDS["call"].say(self.call, self.over_style, rng, "call")
        if token == "{part}":
            return spell(part, rng=rng, over_style=self.over_style, field="part")
        if token in ("{exchange}", "{short}"):
            fields = self.fields if token == "{exchange}" else self.short_fields
            return _exchange_words(fields, self.over_style, rng)
        return (Word(say=token),)


def exchange_label(fields: Sequence[Field]) -> str:
    """Return the word by which operators ask for the last field of an exchange, e.g. "zone"."""
    return FIELD_KINDS[fields[-1].kind].label or "number"


def without_gaps(held: Sequence[str]) -> str:
    """Return the held characters, without the gaps."""
    return "".join(character for character in held if character != MISSED)


def _exchange_words(
    fields: Sequence[Field], over_style: OverStyle, rng: Random
) -> tuple[Word, ...]:
    words: list[Word] = []
    for index, field in enumerate(fields):
        said = FIELD_KINDS[field.kind].say(field.text, over_style, rng, field.name)
        words += _with_pause(said, "," if index < len(fields) - 1 else "")
    return tuple(words)


def _with_pause(words: Sequence[Word], pause: str) -> tuple[Word, ...]:
    *before, last = words
    longer = last.pause if not pause or last.pause == "." else pause
    return (*before, Word(say=last.say, means=last.means, field=last.field, pause=longer))
