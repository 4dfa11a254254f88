"""Figures of one hunt, and of several hunts together."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean

from drill.contact.debrief import CALLING, MENDING, WAITING
from drill.core.errors import UserError
from drill.core.structuring import from_data
from drill.hunt.checking import VERDICTS, count_verdicts
from drill.hunt.results import HuntResult
from drill.hunt.stops import HUNT_PHASES
from drill.psychometrics.intervals import Interval, wilson_interval
from drill.records.store import Store


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntFigures:
    """Figures that explain the result of one hunt; None where a figure cannot be computed.

    stopped_at, called: stations at which the dial rested, and those that the trainee called. right:
    contacts that count. dry_s: seconds of waiting and calling for each contact that counts.
    reachable: stations called that would copy the call at once if nobody else called, as the sum of
    their probabilities. callers_per_hour: mean number of new callers an hour at the stations
    called. calls_before_leaving: mean number of calls at stations that were left without an answer.
    mending_share: share of the whole time spent on corrections. overs: mean number for a station
    that answered, both sides.
    noise_above_db: mean noise of the stations called above the trainee's.
    """

    stopped_at: int
    called: int
    right: int
    dry_s: float | None
    reachable: float
    callers_per_hour: float | None
    calls_before_leaving: float | None
    mending_share: float
    overs: float | None
    noise_above_db: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntSummary:
    """Several hunts of one kind, such as those with one power.

    watts: None for all powers. hunts, hours: how many, and their length together. right, logged:
    contacts. verdicts: numbers of contacts in the order of VERDICTS. dry_s: as in HuntFigures, over
    all hunts. times_s: seconds in each of HUNT_PHASES.
    """

    watts: float | None
    hunts: int
    hours: float
    right: int
    logged: int
    verdicts: tuple[int, ...]
    dry_s: float | None
    times_s: tuple[float, ...]

    @property
    def per_hour(self) -> Interval:
        """Contacts that count, per hour, with the 95 % interval of a Poisson count."""
        return rate_interval(self.right, self.hours)

    @property
    def lost_share(self) -> Interval | None:
        """Share of the logged contacts that do not count, with its 95 % interval; None without."""
        return wilson_interval(self.logged - self.right, self.logged) if self.logged else None


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntHistory:
    """All finished hunts of the record.

    by_power: highest power first. hunts: start (ISO 8601) and result, oldest first.
    """

    total: HuntSummary
    by_power: tuple[HuntSummary, ...]
    hunts: tuple[tuple[str, HuntResult], ...]


def rate_interval(count: int, hours: float) -> Interval:
    """Return the rate of events per hour with its 95 % interval.

    Source: F. Garwood, Biometrika 28 (1936), 437-442, limits of a Poisson mean.
    """
    from scipy.special import gammaincinv

    hours = max(hours, 1 / 3600)
    low = gammaincinv(count, 0.025) if count else 0.0
    high = gammaincinv(count + 1, 0.975)
    return Interval(value=count / hours, low=float(low) / hours, high=float(high) / hours)


def hunt_figures(result: HuntResult) -> HuntFigures:
    """Return the figures that explain a hunt."""
    called = {s.stop.holder: s for s in result.stops if s.stop.called_after_s is not None}
    left = [s.stop.calls for s in result.stops if s.stop.calls and not s.stop.replied]
    answered = [s.stop.overs for s in result.stops if s.stop.replied]
    times = dict(zip(HUNT_PHASES, result.times_s, strict=True))
    return HuntFigures(
        stopped_at=len({s.stop.holder for s in result.stops}),
        called=len(called),
        right=result.right,
        dry_s=_dry_s([result]),
        reachable=round(sum(s.chance_alone for s in called.values()), 1),
        callers_per_hour=_mean(s.callers_per_hour for s in called.values()),
        calls_before_leaving=_mean(left),
        mending_share=times[MENDING] / max(1.0, result.seconds),
        overs=_mean(answered),
        noise_above_db=_mean(s.noise_above_db for s in called.values()),
    )


def summarise_hunts(results: Sequence[HuntResult], *, watts: float | None = None) -> HuntSummary:
    """Return the figures of several hunts; watts: the power with which all of them were made."""
    counts = [count_verdicts(result.contacts) for result in results]
    return HuntSummary(
        watts=watts,
        hunts=len(results),
        hours=sum(result.hours for result in results),
        right=sum(result.right for result in results),
        logged=sum(result.logged for result in results),
        verdicts=tuple(sum(count.get(name, 0) for count in counts) for name in VERDICTS),
        dry_s=_dry_s(results),
        times_s=tuple(
            round(sum(result.times_s[place] for result in results), 1)
            for place in range(len(HUNT_PHASES))
        ),
    )


def summaries_by_power(results: Sequence[HuntResult]) -> tuple[HuntSummary, ...]:
    """Return the figures for each power, the highest first."""
    powers = sorted({result.watts for result in results}, reverse=True)
    return tuple(
        summarise_hunts([r for r in results if r.watts == watts], watts=watts) for watts in powers
    )


def hunt_history(store: Store) -> HuntHistory | None:
    """Return the figures of all recorded hunts, None if there is no finished one.

    Results that this version cannot read are left out.
    """
    hunts: list[tuple[str, HuntResult]] = []
    for stored in store.hunts():
        if stored.result is None:
            continue
        try:
            hunts.append((stored.started, from_data(HuntResult, stored.result)))
        except UserError:
            continue
    if not hunts:
        return None
    results = [result for _, result in hunts]
    return HuntHistory(
        total=summarise_hunts(results),
        by_power=summaries_by_power(results),
        hunts=tuple(reversed(hunts)),
    )


def _dry_s(results: Sequence[HuntResult]) -> float | None:
    """Return the seconds of waiting and calling for each contact that counts."""
    places = [HUNT_PHASES.index(name) for name in (WAITING, CALLING)]
    right = sum(result.right for result in results)
    dry_s = sum(result.times_s[place] for result in results for place in places)
    return round(dry_s / right, 1) if right else None


def _mean(values: Iterable[float]) -> float | None:
    known = list(values)
    return round(fmean(known), 2) if known else None
