"""Learns a mix from a log file, saves it, and summarises it in sentences."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from drill.callmix.contest_log import read_log
from drill.callmix.exchange_kinds import count_kinds
from drill.callmix.learn import calls_in_text, frequent_kinds, learn_mix, matching_exchanges
from drill.callmix.mix import LearnedMix
from drill.callmix.storage import check_mix_name, save_learned_mix
from drill.core.counting import plural


@dataclass(frozen=True, kw_only=True, slots=True)
class LogSummary:
    """Summary of a mix that was learned from a log.

    path: file of the mix. contacts: number in the log. kinds: counts of the kinds of field that
    were exchanged. exchanges: names of the exchanges that match them.
    """

    mix: LearnedMix
    path: Path
    contacts: int
    kinds: Mapping[str, int]
    exchanges: tuple[str, ...]


def learn_from_log(log_file: Path, name: str, *, overwrite: bool) -> LogSummary:
    """Learn a mix from an ADIF or Cabrillo log and save it.

    overwrite: replace a mix of the same name; sessions that used it keep the old one.
    Raises: UserError if the name or the log cannot be used, or, with kind "exists", if there is
    such a mix already.
    """
    check_mix_name(name)
    log = read_log(log_file)
    worked = [contact.call for contact in log.contacts]
    mix = learn_mix(name, worked, calls_in_text(log.text))
    kinds = frequent_kinds(count_kinds(log.contacts))
    return LogSummary(
        mix=mix,
        path=save_learned_mix(mix, kinds, overwrite=overwrite),
        contacts=len(worked),
        kinds=kinds,
        exchanges=matching_exchanges(kinds, len(worked)),
    )


def summary_sentences(summary: LogSummary) -> tuple[str, ...]:
    """Return sentences that summarise the mix, without any call of the log."""
    mix = summary.mix
    prefixes = sum(bool(share.prefix) for share in mix.shares)
    stations = sum(share.stations for share in mix.shares)
    kinds = ", ".join(f"{kind} {count}" for kind, count in summary.kinds.items()) or "-"
    sentences = [
        f"{plural(summary.contacts, 'contact')}. Mix {mix.name}: {plural(stations, 'station')} in "
        f"{plural(prefixes, 'group')} by "
        f"prefix and {len(mix.shares) - prefixes} by country or region.",
        f"Exchanged: {kinds}.",
    ]
    if summary.exchanges:
        sentences.append(f"Matching exchanges: {', '.join(summary.exchanges)}.")
    return (*sentences, f"Saved in {summary.path}, without any call of the log.")
