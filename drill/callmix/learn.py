"""Learns a mix from the contacts of a log, and finds the exchanges that match it."""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from drill.callmix.call_filter import build_filter
from drill.callmix.mix import LearnedMix, PrefixShare, mix_of_region, places_of
from drill.callmix.storage import check_mix_name
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.paths import data_folder
from phonetics.callsigns import Callsign, is_valid_callsign, parse_callsign
from phonetics.exchanges import ExchangeError, exchange_names, load_exchange
from phonetics.series import holder_of, place_of

MIN_COUNT = 5
"""Every count in a mix represents at least this many stations."""
MIN_STATIONS = 50
"""A log must have at least this many stations; statistics of fewer could reveal single stations."""


def learn_mix(name: str, worked: Iterable[str], excluded: Iterable[str]) -> LearnedMix:
    """Return a mix of the worked stations.

    excluded: every text in the log that has the form of a call; none of them is ever drawn.

    Raises: UserError if the name is not usable or the log has too few stations.
    """
    check_mix_name(name)
    bases = {base for base in map(base_call, worked) if base}
    calls = [parse_callsign(base) for base in bases if is_valid_callsign(base)]
    if len(calls) < MIN_STATIONS:
        raise UserError(
            f"the log has {plural(len(calls), 'different station')} with ordinary calls; a mix "
            f"needs at least {MIN_STATIONS}, so that it does not reveal single stations",
            field="log",
            kind="too_few",
        )
    salt, bits = build_filter({*bases, *excluded})
    return LearnedMix(name=name, shares=count_shares(calls), salt=salt.hex(), taken=bits.hex())


def count_shares(calls: Iterable[Callsign]) -> tuple[PrefixShare, ...]:
    """Return the counts of different stations, groups below MIN_COUNT merged (see LearnedMix)."""
    remaining = sorted({call.base: call for call in calls}.values(), key=lambda call: call.base)
    shares: list[PrefixShare] = []
    for group_of in _GROUPINGS:
        groups = [group_of(call) for call in remaining]
        counts = Counter(groups)
        shares += [
            PrefixShare(**dict(group), stations=count)
            for group, count in sorted(counts.items())
            if group and count >= MIN_COUNT
        ]
        remaining = [
            call
            for call, group in zip(remaining, groups, strict=True)
            if not group or counts[group] < MIN_COUNT
        ]
    return tuple(shares)


Group = tuple[tuple[str, Any], ...]
"""Fields of a PrefixShare that identify a group; empty if the call belongs to none."""


def _by_prefix_and_length(call: Callsign) -> Group:
    # A single letter before and one after the digit is a special call, of which there are few.
    length = len(call.suffix)
    return (*_by_prefix(call), ("length", length)) if length + len(call.prefix) > 2 else ()


def _by_prefix(call: Callsign) -> Group:
    return (("prefix", call.prefix), ("digit", call.digit))


def _by_holder(call: Callsign) -> Group:
    region = mix_of_region(place_of(call.prefix, call.digit).region)
    holder = holder_of(call.prefix)
    return (("holder", holder), ("region", region)) if places_of(holder, region) else ()


def _by_region(call: Callsign) -> Group:
    region = mix_of_region(place_of(call.prefix, call.digit).region)
    return (("region", region),) if _by_holder(call) else ()


def _by_world(call: Callsign) -> Group:
    return (("region", "world"),)


_GROUPINGS: tuple[Callable[[Callsign], Group], ...] = (
    _by_prefix_and_length,
    _by_prefix,
    _by_holder,
    _by_region,
    _by_world,
)


def base_call(text: str) -> str:
    """Return the call in a log entry without its strokes, "" if there is none."""
    return max(calls_in_text(text), key=len, default="")


def calls_in_text(text: str) -> list[str]:
    """Return, sorted, every run of letters and digits that has the form of a call."""
    runs = {run.upper() for run in re.findall("[A-Za-z0-9]+", text)}
    calls = []
    for run in sorted(runs):
        if 3 <= len(run) <= 10 and run[-1].isalpha() and not run.isalpha():
            try:
                calls.append(parse_callsign(run).base)
            except ValueError:
                continue
    return calls


def frequent_kinds(counts: Counter[str]) -> dict[str, int]:
    """Return the counts of field kinds with at least MIN_COUNT contacts, largest first."""
    return {kind: count for kind, count in counts.most_common() if count >= MIN_COUNT}


def matching_exchanges(counts: Mapping[str, int], contacts: int) -> tuple[str, ...]:
    """Return the exchanges with exactly the kinds of field that most contacts had."""
    common = {kind for kind, count in counts.items() if count >= 0.5 * contacts}
    folder = data_folder() / "exchanges"
    return tuple(name for name in exchange_names(folder) if _kinds_in(name, folder) == common)


def _kinds_in(exchange: str, folder: Path) -> set[str]:
    """Return the kinds of field in an exchange, none if its file cannot be used."""
    try:
        return {rule.kind for rule in load_exchange(exchange, folder).fields}
    except ExchangeError:
        return set()
