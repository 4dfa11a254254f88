"""Interprets the words of one voice: attempts at a call or an exchange, and requests.

The same rules serve both kinds of ears. They use the form of calls, the fields of the exchange and
the characters already held, never the words that were actually said.
"""

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from drill.contact.evidence import Characters, Evidence, shared_characters
from drill.contact.hearing import HeardOver, characters_of, is_procedure_word
from drill.contact.overs import MISSED
from phonetics.exchanges import Exchange
from phonetics.phrases import FIELD_LABELS

AGAIN_WORDS = frozenset({"again", "say", "repeat"})
CORRECTION_WORDS = frozenset({"correction", "negative", "no"})
THANKS_WORDS = frozenset({"thanks", "thank", "roger"})
CALL_WORDS = frozenset({"call", "suffix", "calling"})
BREAK_S = 0.12
"""A silence of this length between two words separates groups."""
FORM_BONUS, BREAK_BONUS, MISFIT, GAP_SCORE = 2.0, 1.0, -0.7, 0.2
"""Scores of a cut between call and exchange: for a part with the form of a call, for a break at the
cut, for each character that does not fit, and for each gap within a call."""
UNEXPECTED = -2.5
"""Score of an exchange that has not been requested yet."""
_LETTER, _DIGIT = "[A-Z?]", "[0-9?]"
_CALL = re.compile(
    rf"(?:[A-Z0-9?]{{1,3}}/)?(?:[A-Z?]|[A-Z0-9?]{{2}}){_DIGIT}[A-Z0-9?]{{0,3}}{_LETTER}(?:/[A-Z0-9?]{{1,3}})?"
)
_FIELD_PATTERNS = {
    "report": "[1-5?][1-9?]",
    "serial": "[0-9?]{1,4}",
    "zone-itu": "[0-9?]{1,2}",
    "zone-amateur": "[0-9?]{1,2}",
    "power": "[0-9K?]{1,4}",
    "age": "[0-9?]{2}",
    "year": "[0-9?]{2}",
    "number": "[0-9?]{1,6}",
    "letter": "[A-Z?]",
    "locator": "[A-R?]{2}[0-9?]{2}(?:[A-X?]{2})?",
    "area": "[A-Z0-9?]{2,3}",
    "name": "[A-Z?]{1,12}",
    "word": "[A-Z?]{1,12}",
    "call": "[A-Z0-9/?]{3,10}",
}
"""Pattern of each kind of field, with "?" for a character that was not made out."""
ExchangeForm = tuple[tuple[str, bool], ...]
"""Kind of each field of an exchange, and whether it is optional."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Understood:
    """The interpretation of one voice.

    calls: attempts at a call or a part of it. exchanges: attempts at an exchange, without a report
    that may be left out. request: "" for none, "all", "call" or "exchange". corrects: the voice
    says that something was wrong. thanks: it confirms. level_db: apparent SNR of the voice.
    """

    calls: tuple[Characters, ...] = ()
    exchanges: tuple[Characters, ...] = ()
    request: str = ""
    corrects: bool = False
    thanks: bool = False
    level_db: float = 0.0

    @property
    def copied(self) -> int:
        """Number of characters that were made out."""
        return sum(c != MISSED for part in (*self.calls, *self.exchanges) for c in part)

    @property
    def is_empty(self) -> bool:
        """True if nothing was made out of the voice."""
        return not (self.copied or self.request or self.corrects or self.thanks)


def understand(
    over: HeardOver,
    *,
    held: Evidence,
    exchange: Exchange,
    expects_exchange: bool,
    doubt_below: float,
) -> Understood:
    """Return the interpretation of a voice.

    held: the call being worked, empty for none. exchange: form of the exchange. expects_exchange:
    True after the operator has sent its own exchange. doubt_below: a word with a lower confidence
    counts as not made out.
    """
    words = {t.text for t in over.tokens if is_procedure_word(t) and t.confidence >= doubt_below}
    characters, breaks = _characters_with_breaks(over, doubt_below)
    unexpected = 0.0 if expects_exchange else UNEXPECTED
    calls, exchanges = _split(characters, breaks, held, _form_of(exchange), unexpected)
    labels = words & (FIELD_LABELS | {rule.name for rule in exchange.fields} | {"number"})
    request = ""
    if not any(c != MISSED for c in characters) and (
        words & AGAIN_WORDS or labels or words & CALL_WORDS
    ):
        request = "exchange" if labels else "call" if words & CALL_WORDS else "all"
        calls, exchanges = (), ()
    return Understood(
        calls=calls,
        exchanges=exchanges,
        request=request,
        corrects=bool(words & CORRECTION_WORDS),
        thanks=bool(words & THANKS_WORDS),
        level_db=over.level_db,
    )


def _characters_with_breaks(
    over: HeardOver, doubt_below: float
) -> tuple[Characters, frozenset[int]]:
    """Return the characters of a voice, and the positions before which a break was heard."""
    characters: list[str] = []
    breaks: set[int] = set()
    previous_end_s: float | None = None
    for token in over.tokens:
        if is_procedure_word(token):
            previous_end_s = None
            breaks.add(len(characters))
            continue
        if previous_end_s is not None and token.start_s - previous_end_s >= BREAK_S:
            breaks.add(len(characters))
        characters += characters_of([token], doubt_below)
        previous_end_s = token.end_s
    return tuple(characters), frozenset(breaks - {0, len(characters)})


@lru_cache(maxsize=1024)
def _split(
    characters: Characters,
    breaks: frozenset[int],
    held: Evidence,
    form: ExchangeForm,
    unexpected: float,
) -> tuple[tuple[Characters, ...], tuple[Characters, ...]]:
    """Return the attempts at call and exchange, divided at the cut with the best total score.

    It is cached, because an operator may consider a voice several times while others still speak.
    """
    best: tuple[float, tuple[Characters, ...], tuple[Characters, ...]] = (-1e9, (), ())
    for cut in range(len(characters) + 1):
        calls = _tries(characters[:cut], {at for at in breaks if at < cut}, held.gaps)
        after = _tries(characters[cut:], {at - cut for at in breaks if at > cut}, len(characters))
        exchanges = tuple(
            _without_report(part, form) for part in after if _fits_exchange(part, form)
        )
        score = unexpected if after else 0.0
        score += sum(_call_score(part, held) for part in calls)
        score += sum(_exchange_score(part, form) for part in after)
        score += BREAK_BONUS * (cut in breaks)
        if score > best[0] + 1e-9:
            best = (score, calls, exchanges)
    return best[1], best[2]


def _tries(characters: Characters, breaks: set[int], longest: int) -> tuple[Characters, ...]:
    """Return the attempts in a run of characters: two if it was said twice, else one.

    longest: up to this length, two halves count as a repetition even if no character agrees because
    each has gaps where the other has characters.
    """
    if not characters:
        return ()
    middle = len(characters) / 2
    places = sorted(breaks, key=lambda at: abs(at - middle))
    if len(characters) % 2 == 0 and len(characters) // 2 not in places:
        places.append(len(characters) // 2)
    for at in places:
        first, second = characters[:at], characters[at:]
        if abs(len(first) - len(second)) > 1:
            continue
        may_be_alike = at in breaks and len(first) == len(second) <= longest
        if not may_be_alike and not shared_characters(first, second):
            continue
        agreeing, contradicting = Evidence().add(first).compare(second)
        if agreeing > contradicting or (may_be_alike and not contradicting):
            return first, second
    return (characters,)


def _call_score(part: Characters, held: Evidence) -> float:
    if not part:
        return 0.0
    made_out = sum(c != MISSED for c in part)
    score = FORM_BONUS if is_call_form(part) else 0.0
    if held.copied:
        agreeing, contradicting = held.compare(part)
        fills = bool(held.gaps and made_out) and held.fits(part) and not agreeing
        return score * (agreeing >= contradicting) + agreeing - contradicting + 0.5 * fills
    gaps = len(part) - made_out
    return score + made_out + GAP_SCORE * gaps if score else MISFIT * made_out


def _exchange_score(part: Characters, form: ExchangeForm) -> float:
    if not part:
        return 0.0
    made_out = sum(c != MISSED for c in part)
    return 0.9 * made_out if _fits_exchange(part, form) else 2 * MISFIT * len(part)


def _fits_exchange(part: Characters, form: ExchangeForm) -> bool:
    return _exchange_pattern(form).fullmatch("".join(part)) is not None


def is_call_form(part: Characters) -> bool:
    """Return whether characters have the form of a whole call; MISSED matches any character."""
    return _CALL.fullmatch("".join(part)) is not None


@cache
def _exchange_pattern(form: ExchangeForm) -> re.Pattern[str]:
    return re.compile(
        "".join(f"(?:{_FIELD_PATTERNS[kind]}){'?' * optional}" for kind, optional in form)
    )


def _form_of(exchange: Exchange) -> ExchangeForm:
    return tuple((rule.kind, rule.optional) for rule in exchange.fields)


def shortest_exchange(exchange: Exchange) -> int:
    """Return the smallest number of characters of an exchange without an optional report."""
    lengths = {"locator": 4, "age": 2, "year": 2, "area": 2, "name": 2, "word": 2, "call": 3}
    return sum(lengths.get(rule.kind, 1) for rule in exchange.fields if not rule.optional)


def _without_report(part: Characters, form: ExchangeForm) -> Characters:
    """Return an exchange without its report, if the report is optional and seems to be present.

    The expected report is 59; other digits count as a report only if the characters have no other
    interpretation.
    """
    if not form[0][1] or len(part) < 3:
        return part
    first, second = part[:2]
    usual = (first, second) in (
        ("5", "9"),
        ("5", MISSED),
        (MISSED, "9"),
        (MISSED, MISSED),
    )
    text = "".join(part)
    rest = "".join(_FIELD_PATTERNS[kind] for kind, _ in form[1:])
    if usual or not re.fullmatch(rest, text):
        return part[2:]
    return part
