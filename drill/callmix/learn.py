"""What a log was like, learned: a mix of calls, and the kinds of field that were exchanged."""

import re
import secrets
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from math import log, log2
from pathlib import Path
from typing import Any

from drill.callmix.mix import (
    FULLEST,
    LearnedMix,
    Share,
    check_name,
    filled,
    place_in,
    places_of,
    region_of,
)
from drill.core.errors import UserError
from drill.core.paths import data_folder
from phonetics.callsigns import Callsign, is_valid, parse
from phonetics.exchanges import ExchangeError, load, names
from phonetics.series import holder_of, place_of

FEW = 5
"""Stations that a count must stand for at the least."""
FEWEST = 50
"""Stations that a log must have: from fewer, statistics would tell of single ones."""


def table_of(bases: Iterable[str]) -> tuple[str, str]:
    """Return salt and table of LearnedMix for these calls."""
    calls = sorted(set(bases))
    size = 2 ** max(0, int(log2(max(1, len(calls)) / log(2))) - 3)
    while True:
        salt, table = secrets.token_bytes(16), bytearray(size)
        for base in calls:
            at = place_in(table, salt, base)
            table[at >> 3] |= 1 << (at & 7)
        if filled(table) <= FULLEST:
            return salt.hex(), table.hex()


def shares_of(calls: Iterable[Callsign]) -> tuple[Share, ...]:
    """Return the counts of different stations, those below FEW pooled as the module says."""
    left = sorted({call.base: call for call in calls}.values(), key=lambda call: call.base)
    shares: list[Share] = []
    for sort in _SORTS:
        sorts = [sort(call) for call in left]
        counts = Counter(sorts)
        shares += [
            Share(**dict(found), stations=count)
            for found, count in sorted(counts.items())
            if found and count >= FEW
        ]
        pairs = zip(left, sorts, strict=True)
        left = [call for call, found in pairs if not found or counts[found] < FEW]
    return tuple(shares)


Sort = tuple[tuple[str, Any], ...]


def _with_length(call: Callsign) -> Sort:
    # One letter before and one after the digit is a special call, of which there are few.
    length = len(call.suffix)
    return (*_prefix(call), ("length", length)) if length + len(call.prefix) > 2 else ()


def _prefix(call: Callsign) -> Sort:
    return (("prefix", call.prefix), ("digit", call.digit))


def _held(call: Callsign) -> Sort:
    region = region_of(place_of(call.prefix, call.digit).region)
    holder = holder_of(call.prefix)
    return (("holder", holder), ("region", region)) if places_of(holder, region) else ()


def _near(call: Callsign) -> Sort:
    return (("region", region_of(place_of(call.prefix, call.digit).region)),) if _held(call) else ()


_SORTS: tuple[Callable[[Callsign], Sort], ...] = (
    _with_length,
    _prefix,
    _held,
    _near,
    lambda call: (("region", "world"),),
)


def learn(name: str, worked: Iterable[str], never: Iterable[str]) -> LearnedMix:
    """Return a mix of the stations worked. never: whatever in the log has the form of a call.

    Raises: UserError where the name cannot be one, or there are too few stations.
    """
    check_name(name)
    bases = {base for base in map(base_of, worked) if base}
    calls = [parse(base) for base in bases if is_valid(base)]
    if len(calls) < FEWEST:
        raise UserError(
            f"the log has {len(calls)} different stations with ordinary calls; a mix needs "
            f"{FEWEST} or more, so that it tells of no single one"
        )
    shares = shares_of(calls)
    salt, taken = table_of({*bases, *never})
    return LearnedMix(name=name, shares=shares, salt=salt, taken=taken)


def base_of(text: str) -> str:
    """Return the call within what a log holds as one, without its strokes; "" where none is."""
    return max(calls_in(text), key=len, default="")


def calls_in(text: str) -> list[str]:
    """Return, sorted, every run of letters and digits that has the form of a call."""
    runs = {run.upper() for run in re.findall("[A-Za-z0-9]+", text)}
    found = []
    for run in sorted(runs):
        if 3 <= len(run) <= 10 and run[-1].isalpha() and not run.isalpha():
            try:
                found.append(parse(run).base)
            except ValueError:
                continue
    return found


def enough(kinds: Counter[str]) -> dict[str, int]:
    """Return the counts of kinds of field that stand for FEW contacts or more, largest first."""
    return {kind: count for kind, count in kinds.most_common() if count >= FEW}


def fitting(kinds: Mapping[str, int], contacts: int) -> tuple[str, ...]:
    """Return the names of exchanges with just the kinds of field that most contacts had."""
    common = {kind for kind, count in kinds.items() if count >= 0.5 * contacts}
    return tuple(name for name in names(_own()) if _kinds_in(name) == common)


def _kinds_in(name: str) -> set[str]:
    """Return the kinds of field in an exchange, none where it cannot be used."""
    try:
        return {rule.kind for rule in load(name, _own()).fields}
    except ExchangeError:
        return set()


def _own() -> Path:
    return data_folder() / "exchanges"
