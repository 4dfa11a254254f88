"""Identifies the kinds of field that the stations in a log exchanged."""

import re
from collections import Counter
from collections.abc import Sequence
from itertools import zip_longest

from drill.callmix.contest_log import LogContact
from phonetics.callsigns import parse_callsign

OTHER_KIND = "other"
KIND_PATTERNS = (
    ("locator", "[A-R]{2}[0-9]{2}([A-X]{2})?", 0.8),
    ("power", "K|KW|[0-9]{1,4}(W|KW)?", 0.8),
    ("letter", "[A-Z]", 0.8),
    ("area", "[A-Z0-9]{1,4}", 0.95),
    ("name", "[A-Z]{2,12}", 0.8),
)
"""Kind, pattern, and the share of a column that has to match; the first match wins."""
COMMON_WATTS = {
    1, 2, 5, 10, 20, 25, 50, 80, 90, 100, 150, 200, 250, 300, 400, 500, 600, 700, 750, 800, 900,
    1000, 1200, 1500, 2000,
}  # fmt: skip
"""Common practice, no source."""


def count_kinds(contacts: Sequence[LogContact]) -> Counter[str]:
    """Return how often each kind of field was received: keys of FIELD_KINDS, or "other".

    If the log does not name a field, the kind follows from its whole column: if most numbers are
    the zone of the call, the column is zones. A column that fits several kinds, such as ages and
    years, is "number".
    """
    counts = Counter(kind for contact in contacts for kind in contact.kinds)
    columns = zip_longest(*(contact.unnamed for contact in contacts), fillvalue="")
    calls = [contact.call for contact in contacts]
    for column in columns:
        entries = [(call, text.upper()) for call, text in zip(calls, column, strict=True) if text]
        counts[_column_kind(entries)] += len(entries)
    return counts


def _column_kind(entries: Sequence[tuple[str, str]]) -> str:
    """Return the kind of one column of (call, text)."""
    texts = [text for _, text in entries]

    def mostly(pattern: str, share: float) -> bool:
        matches = sum(re.fullmatch(pattern, text) is not None for text in texts)
        return matches >= share * len(texts)

    if mostly("599?", 0.6):
        return "report"
    if mostly("[0-9]{1,6}", 0.8):
        return _number_kind([(call, int(text)) for call, text in entries if text.isdecimal()])
    return next(
        (kind for kind, pattern, share in KIND_PATTERNS if mostly(pattern, share)), OTHER_KIND
    )


def _number_kind(entries: Sequence[tuple[str, int]]) -> str:
    """Return the kind of a column of (call, number)."""
    zone_matches: Counter[str] = Counter()
    for call, number in entries:
        try:
            place = parse_callsign(call).place
        except ValueError:
            continue
        zone_matches["zone-itu"] += number == place.itu_zone
        zone_matches["zone-amateur"] += number == place.amateur_zone
    best, matches = max(zone_matches.items(), key=lambda pair: pair[1], default=("", 0))
    numbers = [number for _, number in entries]
    if matches >= 0.6 * len(numbers):
        return best
    if sum(number in COMMON_WATTS for number in numbers) >= 0.8 * len(numbers):
        return "power"
    return "serial" if max(numbers, default=0) > 100 else "number"
