"""Ears that listen to the rendered sound with a speech recogniser.

The recogniser gets voice, fading, noise and the other callers. Overlapping voices form one passage:
like an operator, it copies the one that stands out.
"""

from collections.abc import Iterable
from functools import cache
from random import Random

from drill.contact.air import ArrivedVoice, Reception
from drill.contact.hearing import HeardOver, HeardToken
from drill.contact.model_ears import ModelEars
from drill.contact.values import EarValues
from drill.core.models import Clip
from drill.recogniser import RecognisedWord, Recogniser, find_recogniser, recogniser_names
from drill.recogniser.grammar import (
    Expression,
    Grammar,
    any_number,
    build_grammar,
    choice,
    optional,
    sequence,
    weighted_choice,
)
from drill.recogniser.language import call_expression, field_expression, spelt_expression
from phonetics.alphabets import characters_from_words
from phonetics.exchanges import Exchange

FAR_RECOGNISER = "own"
"""Name of the recogniser for voices in noise."""
PASSAGE_MARGIN_S = 0.1
"""Length of sound before and after a passage that the recogniser also gets."""
DOUBLE = "double"
SPOKEN_REQUESTS = (
    "again", "please", "your", "call", "number", "report", "correction", "negative", "no",
    "thank", "thanks", "you", "roger", "say", "this", "is", "over",
)  # fmt: skip
PROCEDURE_WEIGHT, SECOND_CALL_WEIGHT, PART_WEIGHT = 0.1, 0.2, 0.3


def has_far_recogniser() -> bool:
    """Return whether the recogniser of the far end is installed and works here."""
    return FAR_RECOGNISER in recogniser_names() and not find_recogniser(FAR_RECOGNISER).problem()


def far_recogniser() -> Recogniser:
    """Return the recogniser of the far end. Raises: NoRecogniser."""
    return find_recogniser(FAR_RECOGNISER)


def recognised_text(clip: Clip, exchange: Exchange) -> str:
    """Return the words recognised in an over from the microphone, "" if there are none.

    Raises: NoRecogniser.
    """
    grammar = _over_grammar(exchange.name, _exchange_expression(exchange))
    return " ".join(word.say for word in far_recogniser().recognise(clip, grammar))


class MachineEars:
    """Ears that use a recogniser.

    far_shift_db: added to the level of every voice at the far end, so that the threshold of this
    station's ears lies `offset_db` above the mean. exchange: the exchange that may be said besides
    calls.
    """

    name = "recogniser"

    def __init__(
        self, recogniser: Recogniser, values: EarValues, offset_db: float, exchange: Exchange
    ) -> None:
        """Build the grammar."""
        self.far_shift_db = -offset_db
        self.doubt_below = values.doubt_below
        self._recogniser = recogniser
        self._grammar = _over_grammar(exchange.name, _exchange_expression(exchange))
        self._presence = ModelEars(values, offset_db, lambda speaker, number: Random())

    def notices(self, level_db: float, draw: float) -> bool:
        """Return whether a voice is noticed. See Ears."""
        return self._presence.notices(level_db, draw)

    def listen(self, reception: Reception) -> tuple[HeardOver, ...]:
        """Return the words recognised in every passage. See Ears."""
        assert reception.clip is not None
        clip = reception.clip()
        return tuple(
            self._recognise(clip, begin, finish, voices)
            for begin, finish, voices in passages(reception)
        )

    def _recognise(
        self, clip: Clip, begin: int, finish: int, voices: Iterable[ArrivedVoice]
    ) -> HeardOver:
        margin = round(PASSAGE_MARGIN_S * clip.rate_hz)
        part = Clip(
            samples=clip.samples[max(0, begin - margin) : finish + margin], rate_hz=clip.rate_hz
        )
        words = self._recogniser.recognise(part, self._grammar)
        return HeardOver(
            tokens=tuple(tokens_from_words(words)), level_db=max(v.level_db for v in voices)
        )


def passages(reception: Reception) -> list[tuple[int, int, list[ArrivedVoice]]]:
    """Return stretches of sound without a pause between voices, with the voices in them.

    Start and end are in samples from the start of the reception.
    """
    result: list[tuple[int, int, list[ArrivedVoice]]] = []
    for voice in sorted(reception.voices, key=lambda entry: entry.start):
        begin, finish = (max(0, at - reception.start) for at in (voice.start, voice.end))
        if result and begin < result[-1][1]:
            first, last, voices = result[-1]
            result[-1] = (first, max(last, finish), [*voices, voice])
        else:
            result.append((begin, finish, [voice]))
    return result


def tokens_from_words(words: Iterable[RecognisedWord]) -> Iterable[HeardToken]:
    """Yield the tokens of recognised words; "double five" gives the characters 55."""
    doubled = False
    for word in words:
        if word.say == DOUBLE:
            doubled = True
            continue
        try:
            text = characters_from_words([word.say])
        except ValueError:
            text = word.say
        yield HeardToken(
            text=text * 2 if doubled and len(text) == 1 else text,
            confidence=word.confidence,
            start_s=word.start_s,
            end_s=word.end_s,
        )
        doubled = False


def _exchange_expression(exchange: Exchange) -> Expression:
    parts = [field_expression(rule, alternates=True) for rule in exchange.fields]
    return sequence(
        *(
            optional(part) if rule.optional else part
            for rule, part in zip(exchange.fields, parts, strict=True)
        )
    )


@cache
def _over_grammar(name: str, exchange: Expression) -> Grammar:
    """Return the grammar of overs to a far station: calls, parts, exchange, requests."""
    call = call_expression(alternates=True)
    part = spelt_expression(alternates=True, at_most=4)
    spoken = any_number(choice(SPOKEN_REQUESTS), PROCEDURE_WEIGHT)
    who = weighted_choice(
        (call, 1.0), (sequence(call, call), SECOND_CALL_WEIGHT), (part, PART_WEIGHT)
    )
    twice = sequence(exchange, optional(exchange, SECOND_CALL_WEIGHT))
    return build_grammar(
        f"over with {name}", sequence(spoken, optional(who), spoken, optional(twice), spoken)
    )
