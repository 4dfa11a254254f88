"""Lets the scripted hunter work whole hours on each band, and writes their table.

python -m tests.tools.hunt_table [--seeds N] [--results FILE] [--into FILE] [--luck FILE]

Each finished hunt is written as a line of the results at once, so that a stopped run can continue.
With --seeds 0 the tables are made from the results as they are.
"""

import argparse
import json
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from itertools import product
from pathlib import Path
from statistics import fmean, stdev, variance

from scipy import stats

from drill.core.conditions import Conditions, Fading
from drill.hunt.checking import VERDICTS, count_verdicts
from drill.hunt.contacts import checked_contacts
from drill.hunt.hunter import POLICIES, run_hunter
from drill.hunt.setup import HuntSetup
from drill.hunt.values import find_band_kind, load_hunt_values
from drill.items.plan import Plan
from tests.tools.tables import write_table

WATTS = (100.0, 20.0, 5.0)
BANDS = ("jammed", "open", "closing", "nearly-dead")
LUCK_POLICIES = ("strong-without-callers", "strongest")
FIRST_SEED = 5
"""The figures of drill/hunt/values.toml were chosen on earlier seeds."""
PLAN = Plan(
    seed=0,
    count=1,
    part="over",
    conditions=Conditions(fading=Fading(name="mid-moderate", delay_ms=1.0, spread_hz=0.5)),
    voices=("birch", "maple"),
)
OWN_CALL = "E87ABC"
SIMULATION = {
    ("jammed", "first"): ("52", "16.4 (3.5)"),
    ("jammed", "strongest"): ("49", "20.6 (4.6)"),
    ("jammed", "strong-without-callers"): ("54", "22.0 (4.5)"),
    ("open", "first"): ("40", "20.0"),
    ("open", "strongest"): ("41", "22.7"),
    ("open", "strong-without-callers"): ("39", "22.1"),
    ("closing", "first"): ("", "15.1"),
    ("closing", "strongest"): ("", "17.6"),
    ("closing", "strong-without-callers"): ("", "16.6"),
    ("nearly-dead", "first"): ("", "2.5"),
    ("nearly-dead", "strongest"): ("", "2.7"),
    ("nearly-dead", "strong-without-callers"): ("", "2.6"),
}
"""Contacts per hour at 100 and at 5 W in the independent simulation, "" where not recorded."""


@dataclass(frozen=True, kw_only=True)
class HuntRun:
    """One hunt of the scripted hunter.

    verdicts: contacts by their verdict. early: number of right contacts in the first half.
    """

    band: str
    policy: str
    watts: float
    seed: int
    minutes: float
    logged: int
    verdicts: dict[str, int]
    early: int
    overs: int

    @property
    def right(self) -> int:
        """Contacts that count."""
        return self.verdicts.get("right", 0)

    @property
    def key(self) -> tuple[str, str, float, int, float]:
        """The values that determine the hunt."""
        return self.band, self.policy, self.watts, self.seed, self.minutes


def make_hunt(band: str, watts: float, seed: int, minutes: float = 60.0) -> HuntSetup:
    """Return a hunt on one band on the first evening of a weekend."""
    return HuntSetup(
        plan=Plan.from_dict({**PLAN.to_dict(), "seed": seed}),
        own_call=OWN_CALL,
        voice="birch",
        watts=watts,
        minutes=minutes,
        bands=(find_band_kind(band),),
        weekend=0.0,
        values=load_hunt_values(),
    )


def run_hunt(band: str, policy: str, watts: float, seed: int, minutes: float) -> HuntRun:
    """Return one hunt, worked to its end."""
    live = run_hunter(make_hunt(band, watts, seed, minutes), policy)
    contacts = checked_contacts(live)
    return HuntRun(
        band=band,
        policy=policy,
        watts=watts,
        seed=seed,
        minutes=minutes,
        logged=len(live.pad.lines),
        verdicts=count_verdicts(contacts),
        early=sum(contact.is_right and contact.at_s < 30 * minutes for contact in contacts),
        overs=len(live.sending),
    )


def run_all(seeds: Sequence[int], minutes: float, file: str | None) -> list[HuntRun]:
    """Return the hunts in the file and the missing ones of every band, policy and power."""
    path = None if file is None else Path(file)
    lines = path.read_text("utf-8").splitlines() if path is not None and path.exists() else []
    known = {run.key: run for run in (HuntRun(**json.loads(line)) for line in lines)}
    for seed, band, policy, watts in product(seeds, BANDS, POLICIES, WATTS):
        if (band, policy, watts, seed, minutes) not in known:
            run = run_hunt(band, policy, watts, seed, minutes)
            known[run.key] = run
            if path is not None:
                with path.open("a", encoding="utf-8") as lines_file:
                    lines_file.write(json.dumps(asdict(run)) + "\n")
    return sorted(known.values(), key=lambda run: run.seed)


def select(
    runs: Iterable[HuntRun], *, band: str, policy: str | None = None, watts: float | None = None
) -> list[HuntRun]:
    """Return the hunts of one kind, in the order of their seeds."""
    return [
        run
        for run in runs
        if run.band == band
        and (policy is None or run.policy == policy)
        and (watts is None or run.watts == watts)
    ]


def table(runs: Sequence[HuntRun]) -> Iterator[str]:
    """Yield the lines of all tables."""
    seeds = sorted({run.seed for run in runs})
    yield f"Seeds {seeds[0]} to {seeds[-1]}; n is the number of hunts in a cell."
    yield ""
    yield "| band | policy | 100 W | 20 W | 5 W | simulation, 100 W | 5 W |"
    yield "|---|---|---|---|---|---|---|"
    for band, policy in product(BANDS, POLICIES):
        cells = [_cell(select(runs, band=band, policy=policy, watts=watts)) for watts in WATTS]
        yield f"| {band} | {policy} | {' | '.join([*cells, *SIMULATION[band, policy]])} |"
    yield ""
    yield "Contacts by verdict, in percent of all, with all policies together:"
    yield ""
    yield f"| band | power | contacts | {' | '.join(VERDICTS)} |"
    yield f"|---|---|---|{'---|' * len(VERDICTS)}"
    for band, watts in product(BANDS, WATTS):
        yield _verdict_row(band, watts, select(runs, band=band, watts=watts))
    yield ""
    yield "Right contacts at 5 W with the policy 'first', and how many more the others make, with"
    yield "the 95 % interval of the mean over seeds; and the correlation of right contacts at 100"
    yield "and at 5 W with the same seed and policy:"
    yield ""
    yield "| band | time | first makes | strongest | strong-without-callers | correlation |"
    yield "|---|---|---|---|---|---|"
    for band in BANDS:
        yield f"| {band} | whole | {_gains(runs, band, whole=True)} | {_correlation(runs, band)} |"
        yield f"| {band} | first half | {_gains(runs, band, whole=False)} | |"
    yield ""
    yield f"Variance over mean of right contacts, all cells together: {_dispersion(runs):.2f}."


def _cell(runs: Sequence[HuntRun]) -> str:
    """Return right contacts in an hour, their SD over seeds, and the contacts logged."""
    right = [run.right * 60 / run.minutes for run in runs]
    logged = fmean(run.logged * 60 / run.minutes for run in runs)
    return f"{fmean(right):.1f} ({stdev(right):.1f}), logged {logged:.1f}, n {len(runs)}"


def _verdict_row(band: str, watts: float, runs: Sequence[HuntRun]) -> str:
    counts: Counter[str] = Counter()
    for run in runs:
        counts.update(run.verdicts)
    total = sum(counts.values())
    shares = [f"{100 * counts[name] / max(1, total):.1f}" for name in VERDICTS]
    return f"| {band} | {watts:g} W | {total} | {' | '.join(shares)} |"


def _gains(runs: Sequence[HuntRun], band: str, *, whole: bool) -> str:
    """Return cells with the contacts of the policy "first", and the gains of the others."""
    first, *others = (
        {
            run.seed: run.right if whole else run.early
            for run in select(runs, band=band, policy=policy, watts=WATTS[-1])
        }
        for policy in POLICIES
    )
    return " | ".join([f"{fmean(first.values()):.1f}", *(_gain(first, made) for made in others)])


def _gain(first: dict[int, int], other: dict[int, int]) -> str:
    """Return the mean gain over the seeds of both policies, with its interval (Student's t)."""
    gains = [other[seed] - first[seed] for seed in sorted(first.keys() & other.keys())]
    factor = stats.t.ppf(0.975, len(gains) - 1) if len(gains) > 1 else math.nan
    mean, margin = fmean(gains), factor * stdev(gains) / math.sqrt(len(gains))
    return f"{mean:+.1f} ({mean - margin:+.1f} to {mean + margin:+.1f}), n {len(gains)}"


def _correlation(runs: Sequence[HuntRun], band: str) -> str:
    """Return Pearson's correlation of right contacts at the highest and at the lowest power.

    It covers all pairs of a seed and a policy, after subtracting the mean of each policy.
    """
    high: list[float] = []
    low: list[float] = []
    for policy in POLICIES:
        by_seed = [
            {run.seed: run.right for run in select(runs, band=band, policy=policy, watts=watts)}
            for watts in (WATTS[0], WATTS[-1])
        ]
        seeds = sorted(by_seed[0].keys() & by_seed[1].keys())
        for made, values in zip(by_seed, (high, low), strict=True):
            mean = fmean(made[seed] for seed in seeds)
            values += [made[seed] - mean for seed in seeds]
    norm = math.sqrt(sum(a * a for a in high) * sum(b * b for b in low))
    if not norm:
        return "-"
    return f"{sum(a * b for a, b in zip(high, low, strict=True)) / norm:.2f}, n {len(high)}"


def luck_lines(runs: Sequence[HuntRun]) -> Iterator[str]:
    """Yield the lines of drill/hunt/luck.toml.

    The standard deviation is the root of the mean times one factor for all cells, because a cell
    has too few hunts for one of its own.
    """
    yield "# Right contacts of the scripted hunter in an hour: mean and SD over seeds of a band."
    yield "# Written by tests/tools/hunt_table.py; see tests/measured/hunt.md."
    factor = _dispersion(runs)
    for band, policy, watts in product(BANDS, LUCK_POLICIES, WATTS):
        cell = select(runs, band=band, policy=policy, watts=watts)
        mean = fmean(run.right * 60 / run.minutes for run in cell)
        yield ""
        yield "[[luck]]"
        yield f'band = "{band}"'
        yield f'policy = "{policy}"'
        yield f"watts = {watts}"
        yield f"mean = {mean:.1f}"
        yield f"sd = {math.sqrt(factor * mean):.1f}"
        yield f"seeds = {len(cell)}"


def _dispersion(runs: Sequence[HuntRun]) -> float:
    """Return the variance of right contacts over their mean, pooled over all cells."""
    squares = means = 0.0
    for band, policy, watts in product(BANDS, POLICIES, WATTS):
        right = [run.right for run in select(runs, band=band, policy=policy, watts=watts)]
        squares += (len(right) - 1) * variance(right)
        means += (len(right) - 1) * fmean(right)
    return squares / means


def main() -> None:
    """Work the hunts, print and write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=12)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--results", metavar="FILE")
    parser.add_argument("--into", metavar="FILE")
    parser.add_argument("--luck", metavar="FILE")
    options = parser.parse_args()
    seeds = range(FIRST_SEED, FIRST_SEED + options.seeds)
    runs = run_all(seeds, options.minutes, options.results)
    write_table(options.into, "hunt", list(table(runs)))
    if options.luck is not None:
        Path(options.luck).write_text("\n".join(luck_lines(runs)) + "\n", "utf-8")


if __name__ == "__main__":
    main()
