"""Amateur call signs: their structure and whether an administration could assign them.

A call has a prefix (1 to 3 characters, in a series of Appendix 42), one separating digit and a
suffix (1 to 4 characters, the last a letter). A stroke adds the prefix of another place before the
call, or letters after it. All upper case.

Source: ITU Radio Regulations Article 19, Nos. 19.45 to 19.50.1, 19.68, 19.68.1 and 19.69; the
special calls of No. 19.68A are left out. Endings after the stroke are common practice, no source.
"""

import re
from dataclasses import dataclass

from phonetics.series import (
    SINGLE_LETTERS,
    Place,
    holder_of,
    place_of,
)

# No series of Appendix 42 begins with these, although No. 19.68 would allow it, and they have never
# been on the air (value from memory).
UNALLOCATED_PREFIXES: tuple[str, ...] = (
    "E8", "E9", "J9", "Z4", "Z5", "Z7", "Z9", "X2", "X3", "X4", "X6", "X7", "X8", "X9",
)  # fmt: skip

# No series of Appendix 42 begins with these either, but they are or were on the air. All values
# from memory: Z6 Kosovo; H5 Bophuthatswana, S4 Ciskei and V9 Venda, until 1994; T9 Bosnia and
# Herzegovina, until 2007; 4N and YZ Yugoslavia; X5 Republika Srpska; U2 to U9 the Soviet Union.
IRREGULAR_PREFIXES: tuple[str, ...] = (
    "Z6", "H5", "S4", "V9", "T9", "4N", "YZ", "X5",
    "U2", "U3", "U4", "U5", "U6", "U7", "U8", "U9",
)  # fmt: skip

# No. 19.47, distress signals and the like. SOS is certain; the rest is common practice, no source.
DISTRESS_SIGNALS: tuple[str, ...] = ("SOS", "PAN", "TTT", "XXX", "DDD", "QRRR", "MAYD")
_Q_CODE = re.compile("Q[R-U][A-Z]")  # No. 19.48 with Rec. ITU-R M.1172: QRA to QUZ

_ENDINGS = frozenset({"P", "M", "MM", "AM", "A", "QRP", *"0123456789"})

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
    """A call sign in parts. before, after: the parts that strokes add, "" for none."""

    prefix: str
    digit: str
    suffix: str
    before: str = ""
    after: str = ""

    @property
    def base(self) -> str:
        """The call without the parts that strokes add."""
        return self.prefix + self.digit + self.suffix

    @property
    def text(self) -> str:
        """The whole call as written."""
        return "/".join(part for part in (self.before, self.base, self.after) if part)

    @property
    def holder(self) -> str:
        """The holder of the prefix in Appendix 42, "" if it is unallocated."""
        return holder_of(self.prefix)

    @property
    def place(self) -> Place:
        """Place of the station: the one before a stroke if there is one, else the home place."""
        if self.before:
            prefix, digit = _place_before(self.before)
            return place_of(prefix, digit)
        return place_of(self.prefix, self.after if self.after.isdigit() else self.digit)


def parse_callsign(text: str) -> Callsign:
    """Return a call in parts, by structure alone: its prefix may be unallocated.

    Raises: ValueError naming the clause of Article 19 that the text does not meet.
    """
    parts = text.split("/")
    candidates = [index for index, part in enumerate(parts) if _split_base(part)]
    if not candidates:
        raise ValueError(
            f"{text!r} is not a prefix, a digit and a suffix that ends in a letter (RR 19.68)"
        )
    base = max(candidates, key=lambda index: len(parts[index]))
    before, after = "/".join(parts[:base]), "/".join(parts[base + 1 :])
    if base > 0 and not _PLACE_BEFORE.fullmatch(before):
        raise ValueError(f"{before!r} before the stroke is not a prefix (RR 19.50)")
    if len(parts) > base + 1 and after not in _ENDINGS:
        allowed = ", ".join(sorted(_ENDINGS))
        raise ValueError(f"{after!r} after the stroke is not one of {allowed}")
    prefix, digit, suffix = _split_base(parts[base])
    return Callsign(prefix=prefix, digit=digit, suffix=suffix, before=before, after=after)


def _split_base(base: str) -> tuple[str, ...]:
    """Return prefix, digit and suffix, () if base does not have that structure.

    If a string fits two forms, the one with an allocated prefix wins.
    """
    fits = [match.groups() for form, _ in _FORMS if (match := form.fullmatch(base))]
    return next((fit for fit in fits if holder_of(fit[0])), fits[0] if fits else ())


def _place_before(before: str) -> tuple[str, str]:
    match = _PLACE_BEFORE.fullmatch(before)
    return (match[1], match[2]) if match else (before, "")


def is_valid_callsign(text: str) -> bool:
    """Return whether an administration could assign the call to an ordinary amateur station."""
    return not _fault(text)


def explain_callsign(text: str) -> str:
    """Return a sentence: who could assign the call and by which clause, or why nobody could."""
    fault = _fault(text)
    if fault:
        return fault
    call = parse_callsign(text)
    parts = (call.prefix, call.digit, call.suffix)
    clause = next(
        clause
        for form, clause in _FORMS
        if (match := form.fullmatch(call.base)) and match.groups() == parts
    )
    return f"{text} is a call of {call.holder} (RR {clause})"


def _fault(text: str) -> str:
    """Return why the call is not valid, "" if it is."""
    if not text.isascii() or text != text.upper():
        return f"{text!r} has characters other than A to Z, 0 to 9 and the stroke (RR 19.45)"
    try:
        call = parse_callsign(text)
    except ValueError as error:
        return str(error)
    if not call.holder:
        return f"{call.prefix} of {text} is in no series of Appendix 42 (RR 19.50)"
    if call.before and not holder_of(_place_before(call.before)[0]):
        return f"{call.before} of {text} is in no series of Appendix 42 (RR 19.50)"
    return forbidden_suffix_reason(call.suffix)


def forbidden_suffix_reason(suffix: str) -> str:
    """Return why a suffix must not be assigned (RR 19.47, 19.48), "" if it may be."""
    signal = next((signal for signal in DISTRESS_SIGNALS if signal in suffix), "")
    if signal:
        return f"suffix {suffix} might be mistaken for the distress signal {signal} (RR 19.47)"
    if _Q_CODE.search(suffix):
        return f"suffix {suffix} contains a group of the Q code, QRA to QUZ (RR 19.48)"
    return ""


def is_unassigned_callsign(text: str) -> bool:
    """Return whether text has the form of a call that nobody uses.

    True if its prefix is one of UNALLOCATED_PREFIXES, or if its suffix is a group of the Q code,
    which no administration assigns (RR 19.48).
    """
    try:
        call = parse_callsign(text)
    except ValueError:
        return False
    unallocated = call.prefix in UNALLOCATED_PREFIXES
    return unallocated or _Q_CODE.fullmatch(call.suffix) is not None
