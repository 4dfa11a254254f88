"""Amateur call signs: their structure, whether they are valid, and composing them at random.

Conventions: upper case. prefix (1 to 3 characters of Appendix 42), one separating digit, suffix
(1 to 4 characters, the last a letter); a stroke adds another place before the call or a letter
group after it. Sources: ITU Radio Regulations Article 19, Nos. 19.45 to 19.50.1, 19.68, 19.68.1
and 19.69; special calls of 19.68A are left out. Endings after the stroke are common practice, no
source. Which places are active is in `series`.
"""

import re
from dataclasses import dataclass
from functools import lru_cache
from random import Random
from string import ascii_uppercase
from typing import Protocol

from phonetics.series import (
    REGIONS,
    SINGLE_LETTERS,
    Place,
    holder_of,
    place_of,
    places,
    prefixes_of,
)

FICTION = "fictional, composed at random; a likeness to a licensed station is chance"

UNASSIGNED = "unassigned"
MIXES: tuple[str, ...] = (
    "world",
    *(region.lower().replace(" ", "-") for region in REGIONS),
    UNASSIGNED,
)


class OwnMix(Protocol):
    """A mix that is not of MIXES: it draws calls of its own, without strokes."""

    def draw(self, rng: Random) -> "Callsign":
        """Return a call composed at random."""
        ...


# No series of Appendix 42 begins with these, yet all could begin a call by No. 19.68.
UNALLOCATED: tuple[str, ...] = (
    "E8", "E9", "H5", "J9", "S4", "T9", "V9", "YZ", "Z4", "Z5", "Z6", "Z7", "Z9", "4N", "U2", "U3",
    "U4", "U5", "U6", "U7", "U8", "U9", "X2", "X3", "X4", "X5", "X6", "X7", "X8", "X9",
)  # fmt: skip

# No. 19.47, distress signals and the like. SOS is certain; the rest is common practice, no source.
DISTRESS: tuple[str, ...] = ("SOS", "PAN", "TTT", "XXX", "DDD", "QRRR", "MAYD")
_Q_CODE = re.compile("Q[R-U][A-Z]")  # No. 19.48 with Rec. ITU-R M.1172: QRA to QUZ

RARE = 0.05
"""Share of calls with any prefix of the holder's series in place of a common one; invented."""

ENDINGS: tuple[tuple[str, int], ...] = (("P", 70), ("M", 20), ("MM", 6), ("A", 4))
_AFTER = frozenset({"P", "M", "MM", "AM", "A", "QRP", *"0123456789"})

# Nos. 19.68 (a), 19.68 (b) and 19.68.1, with 19.69 for the digits 0 and 1.
_FORMS = (
    (re.compile(rf"([{SINGLE_LETTERS}])([0-9])([A-Z0-9]{{0,3}}[A-Z])"), "19.68 (a)"),
    (
        re.compile(r"([A-Z][A-Z]|[A-Z][2-9]|[2-9][A-Z])([0-9])([A-Z0-9]{0,3}[A-Z])"),
        "19.68 (b)",
    ),
    (re.compile(r"(3D[A-Z]|SS[A-Z])([0-9])([A-Z0-9]{0,2}[A-Z])"), "19.68.1"),
)
_PLACE_BEFORE = re.compile(rf"([{SINGLE_LETTERS}]|[A-Z][A-Z]|[A-Z][2-9]|[2-9][A-Z])([0-9]?)")


@dataclass(frozen=True, kw_only=True, slots=True)
class Callsign:
    """A call sign in parts; before and after are the parts beyond a stroke, "" for none."""

    prefix: str
    digit: str
    suffix: str
    before: str = ""
    after: str = ""

    @property
    def base(self) -> str:
        """Return the call without what a stroke adds."""
        return self.prefix + self.digit + self.suffix

    @property
    def text(self) -> str:
        """Return the whole call as written."""
        return "/".join(part for part in (self.before, self.base, self.after) if part)

    @property
    def holder(self) -> str:
        """Return who holds the prefix in Appendix 42, "" where nobody does."""
        return holder_of(self.prefix)

    @property
    def place(self) -> Place:
        """Return the place that the station is at: of the part before a stroke if there is one."""
        if self.before:
            prefix, digit = _place_before(self.before)
            return place_of(prefix, digit)
        return place_of(self.prefix, self.after if self.after.isdigit() else self.digit)


def parse(text: str) -> Callsign:
    """Return the call that text spells, in structure alone: its prefix may be nobody's.

    Raises: ValueError naming the clause of Article 19 that it does not meet.
    """
    parts = text.split("/")
    bases = [at for at, part in enumerate(parts) if _parts(part)]
    if not bases:
        raise ValueError(
            f"{text!r} is no prefix, digit and suffix that ends in a letter (RR 19.68)"
        )
    at = max(bases, key=lambda index: len(parts[index]))
    before, after = "/".join(parts[:at]), "/".join(parts[at + 1 :])
    if at > 0 and not _PLACE_BEFORE.fullmatch(before):
        raise ValueError(f"{before!r} before the stroke is not a prefix (RR 19.50)")
    if len(parts) > at + 1 and after not in _AFTER:
        raise ValueError(f"{after!r} after the stroke is none of {', '.join(sorted(_AFTER))}")
    prefix, digit, suffix = _parts(parts[at])
    return Callsign(prefix=prefix, digit=digit, suffix=suffix, before=before, after=after)


def _parts(base: str) -> tuple[str, ...]:
    """Return prefix, digit, suffix, () where base has no such structure.

    Some strings fit two forms; the one whose prefix is allocated is meant.
    """
    fits = [match.groups() for form, _ in _FORMS if (match := form.fullmatch(base))]
    return next((fit for fit in fits if holder_of(fit[0])), fits[0] if fits else ())


def _place_before(before: str) -> tuple[str, str]:
    match = _PLACE_BEFORE.fullmatch(before)
    return (match[1], match[2]) if match else (before, "")


def is_valid(text: str) -> bool:
    """Return True where an administration could assign the call to an ordinary amateur station."""
    return not _fault(text)


def explain(text: str) -> str:
    """Return one sentence: whose call it would be and by which clause, or why it is none."""
    fault = _fault(text)
    if fault:
        return fault
    call = parse(text)
    parts = (call.prefix, call.digit, call.suffix)
    clause = next(
        clause
        for form, clause in _FORMS
        if (match := form.fullmatch(call.base)) and match.groups() == parts
    )
    return f"{text} is a call of {call.holder} (RR {clause})"


def _fault(text: str) -> str:
    """Return why text is no valid call, "" where it is one."""
    if not text.isascii() or text != text.upper():
        return f"{text!r} has other characters than A to Z, 0 to 9 and the stroke (RR 19.45)"
    try:
        call = parse(text)
    except ValueError as error:
        return str(error)
    if not call.holder:
        return f"{call.prefix} of {text} is in no series of Appendix 42 (RR 19.50)"
    if call.before and not holder_of(_place_before(call.before)[0]):
        return f"{call.before} of {text} is in no series of Appendix 42 (RR 19.50)"
    return _forbidden(call.suffix)


def _forbidden(suffix: str) -> str:
    """Return why the suffix may not be assigned, "" where it may."""
    run = next((run for run in DISTRESS if run in suffix), "")
    if run:
        return f"suffix {suffix} might be taken for the distress signal {run} (RR 19.47)"
    if _Q_CODE.search(suffix):
        return f"suffix {suffix} holds a group of the Q code, QRA to QUZ (RR 19.48)"
    return ""


def is_unassigned(text: str) -> bool:
    """Return True for a call in form that no administration can have assigned.

    Its prefix is in no series of Appendix 42, or its suffix is a group of the Q code.
    """
    try:
        call = parse(text)
    except ValueError:
        return False
    return not call.holder or _Q_CODE.fullmatch(call.suffix) is not None


def compose(rng: Random, *, mix: str | OwnMix = "world", strokes: float = 0.04) -> Callsign:
    """Return a call composed at random: FICTION says what it is.

    mix: one of MIXES, where a region's places come up by their activity, or an own mix. strokes:
    share from 0 to 1 of calls with a stroke.

    Raises: ValueError where mix or strokes is none.
    """
    if isinstance(mix, str) and mix not in MIXES:
        raise ValueError(f"mix {mix!r} is unknown; use one of {', '.join(MIXES)}")
    if not 0.0 <= strokes <= 1.0:
        raise ValueError(f"strokes {strokes} is not a share from 0 to 1")
    if not isinstance(mix, str):
        call, mix = mix.draw(rng), "world"
    else:
        call = _unassigned(rng) if mix == UNASSIGNED else compose_at(rng, draw_place(rng, mix))
    return _with_stroke(rng, call, mix) if rng.random() < strokes else call


@lru_cache(maxsize=8)
def _mix(mix: str) -> tuple[tuple[Place, ...], tuple[float, ...]]:
    chosen = tuple(
        place
        for place in places()
        if mix in ("world", UNASSIGNED) or place.region.lower().replace(" ", "-") == mix
    )
    return chosen, tuple(place.weight for place in chosen)


def draw_place(rng: Random, mix: str) -> Place:
    """Return a place of one of MIXES by its activity."""
    chosen, weights = _mix(mix)
    return rng.choices(chosen, weights)[0]


@lru_cache(maxsize=512)
def _rare_prefixes(place: Place) -> tuple[str, ...]:
    """Return the holder's prefixes that, with the place's digits, are heard from its region."""
    near = tuple(
        prefix
        for prefix in prefixes_of(place.holder)
        if all(place_of(prefix, digit).region == place.region for digit in place.digits)
    )
    return near or place.prefixes


def compose_at(rng: Random, place: Place) -> Callsign:
    """Return a call of a place composed at random, without a stroke."""
    rare = rng.random() < RARE
    prefix = rng.choice(_rare_prefixes(place) if rare else place.prefixes)
    # One letter before and one after the digit is kept for special events (common practice).
    lengths = [length for length in place.suffixes if length + len(prefix) > 2]
    length = rng.choice(lengths or [2])
    return Callsign(prefix=prefix, digit=rng.choice(place.digits), suffix=draw_suffix(rng, length))


def draw_suffix(rng: Random, length: int) -> str:
    """Return letters that may be a suffix by Nos. 19.47 and 19.48."""
    while True:
        suffix = "".join(rng.choices(ascii_uppercase, k=length))
        if not _forbidden(suffix):
            return suffix


def _unassigned(rng: Random) -> Callsign:
    digit = rng.choice("0123456789")
    if rng.random() < 0.75:
        length = rng.choices((1, 2, 3), (1, 4, 5))[0]
        return Callsign(
            prefix=rng.choice(UNALLOCATED), digit=digit, suffix=draw_suffix(rng, length)
        )
    place = draw_place(rng, "world")
    suffix = "Q" + rng.choice("RSTU") + rng.choice(ascii_uppercase)
    return Callsign(
        prefix=rng.choice(place.prefixes), digit=rng.choice(place.digits), suffix=suffix
    )


def _with_stroke(rng: Random, call: Callsign, mix: str) -> Callsign:
    before, after = "", ""
    if rng.random() < 0.7:
        after = rng.choices([end for end, _ in ENDINGS], [weight for _, weight in ENDINGS])[0]
    elif mix == UNASSIGNED:
        before = rng.choice(UNALLOCATED)
    else:
        place = draw_place(rng, mix)
        before = rng.choice(place.prefixes)
        # Half a holder's series (3DA) is not given as a place before a stroke.
        if len(before) > 2 or place.holder == call.holder:
            before, after = "", "P"
        elif place_of(before, "") != place:
            before += rng.choice(place.digits)
    return Callsign(
        prefix=call.prefix, digit=call.digit, suffix=call.suffix, before=before, after=after
    )
