"""Measures the far operator's recogniser as a listener, and fits the model's ears to it.

python -m tests.tools.contact_ears [--calls N] [--into FILE] [--values FILE]

OPERATORS say N calls (default 60) at each SNR in the ITU's code words. The calls pass a steady path
with Gaussian noise, and the recogniser uses the same grammar and limit of doubt as in a contact.
Prints the shares of words copied, of words taken for others and of whole calls copied, and the
logistic function that fits the words best; --values writes it into the section recogniser of
values.toml. For comparison it also prints the fit to the recogniser's own sweep
(tests/measured/own_recogniser.md).
"""

import argparse
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random

import numpy as np
from scipy.optimize import minimize

from drill.contact.air import Participant
from drill.contact.evidence import Evidence
from drill.contact.hearing import characters_of
from drill.contact.machine_ears import MachineEars, far_recogniser
from drill.contact.overs import TRAINEE, Over, Speaker
from drill.contact.rendered_air import RenderedAir
from drill.contact.stations import compose_station
from drill.contact.values import load_values
from drill.core.conditions import Conditions
from drill.items.plan import Plan
from drill.voices.operators import find_operator
from phonetics.callsign_mixes import compose_callsign
from tests.tools.tables import write_table

OPERATORS = ("willow", "meadow", "pebble", "tin")
LEVELS_DB = (-12.0, -9.0, -6.0, -3.0, 0.0, 3.0, 6.0)
SWEEP = Path("tests/measured/own_recogniser.md")
SWEEP_SET, CLEAN_DB = "natural", 30.0
MAX_LAPSE = 0.05


@dataclass(frozen=True, kw_only=True)
class LevelCounts:
    """Results at one SNR: words copied, mistaken for others, and sent; whole calls copied."""

    snr_db: float
    right: int
    wrong: int
    sent: int
    calls_right: int


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A logistic function: SNR at half of the words, slope per dB, and lapse rate."""

    threshold_db: float
    slope_per_db: float
    lapse: float

    def __str__(self) -> str:
        """Return the three figures."""
        return (
            f"threshold {self.threshold_db:.1f} dB, {self.slope_per_db:.2f} per dB, lapse rate "
            f"{100 * self.lapse:.1f} %"
        )


def measure(snr_db: float, calls: int) -> LevelCounts:
    """Return the counts of words and calls that the recogniser copies at an SNR."""
    values = load_values()
    plan = Plan(seed=1, part="over", mix="world", voices=("birch",), conditions=Conditions())
    ears = MachineEars(far_recogniser(), values.recogniser, 0.0, plan.load_exchange())
    right = wrong = sent = calls_right = 0
    for number in range(calls):
        station = compose_station(
            replace(plan, seed=number), values, number=0, place=0, path_mean_db=0.0
        )
        call = compose_callsign(Random(f"contact ears {number}"), mix="world").base
        operator = find_operator(OPERATORS[number % len(OPERATORS)])
        air = RenderedAir(station)
        participant = Participant(name=TRAINEE, path_seed=number, far_db=snr_db, operator=operator)
        speaker = Speaker(call=call, fields=(), operator=operator)
        over = air.key(participant, Over(kind="call", words=speaker.say(Random(0), "{call}")), 0, 0)
        heard = ears.listen(air.receive("far", [over], 0, over.end, told=[over]))
        copied = characters_of(heard[0].tokens, values.recogniser.doubt_below)
        agreeing, contradicting = Evidence().add(tuple(call)).compare(copied)
        right += agreeing
        wrong += contradicting
        sent += len(call)
        calls_right += "".join(copied) == call
    return LevelCounts(snr_db=snr_db, right=right, wrong=wrong, sent=sent, calls_right=calls_right)


def fit(levels_db: Sequence[float], shares: Sequence[float], weights: Sequence[float]) -> Fit:
    """Return the logistic function that fits shares best. weights: words behind each share."""
    levels, share, weight = (np.array(row, float) for row in (levels_db, shares, weights))

    def cost(parameters: np.ndarray) -> float:
        threshold_db, slope, lapse = parameters
        p = (1 - lapse) / (1 + np.exp(-slope * (levels - threshold_db)))
        p = np.clip(p, 1e-9, 1 - 1e-9)
        return float(-np.sum(weight * (share * np.log(p) + (1 - share) * np.log(1 - p))))

    start = np.array([-8.0, 0.5, 0.005])
    bounds = [(-30, 20), (0.05, 3), (0.001, MAX_LAPSE)]
    best = minimize(cost, start, method="Nelder-Mead", bounds=bounds).x
    return Fit(threshold_db=float(best[0]), slope_per_db=float(best[1]), lapse=float(best[2]))


def sweep_curve(text: str, name: str = SWEEP_SET) -> tuple[list[float], list[float]]:
    """Return the levels in dB and the shares of symbols of a set over the steady path.

    text: tests/measured/own_recogniser.md. name: a set, such as "natural".
    """
    steady = text[text.index("Condition: steady") :]
    head, row = (
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in (
            next(line for line in steady.splitlines() if line.startswith("| set")),
            next(line for line in steady.splitlines() if line.startswith(f"| {name} |")),
        )
    )
    levels, shares = [], []
    for title, cell in zip(head, row, strict=True):
        level = re.fullmatch(r"([+-]\d+) dB|clean", title)
        if level and cell:
            levels.append(float(level[1]) if level[1] else CLEAN_DB)
            shares.append(int(cell.partition("/")[0]) / 100)
    return levels, shares


def with_values(text: str, section: str, values: Mapping[str, float]) -> str:
    """Return the text of values.toml with the figures of one section replaced."""
    start = text.index(f"[{section}]")
    end = text.find("\n[", start)
    part = text[start:end]
    for name, value in values.items():
        part, count = re.subn(rf"(?m)^{name} = .*$", f"{name} = {value:g}", part)
        if count != 1:
            raise ValueError(f"section {section} has no {name}")
    return text[:start] + part + text[end:]


def table(rows: Sequence[LevelCounts], calls: int) -> list[str]:
    """Return the lines of the table."""
    lines = [
        "| SNR in 3 kHz, dB | words copied | taken for others | whole calls copied |",
        "|---|---|---|---|",
    ]
    for row in rows:
        lines.append(
            f"| {row.snr_db:+.0f} | {100 * row.right / row.sent:.0f} % of {row.sent} "
            f"| {100 * row.wrong / row.sent:.1f} % "
            f"| {100 * row.calls_right / calls:.0f} % of {calls} |"
        )
    return lines


def main() -> None:
    """Measure, print and write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--calls", type=int, default=60)
    parser.add_argument("--into", metavar="FILE")
    parser.add_argument("--values", metavar="FILE", type=Path)
    options = parser.parse_args()
    rows = []
    for snr_db in LEVELS_DB:
        rows.append(measure(snr_db, options.calls))
        print(rows[-1], flush=True)
    best = fit(LEVELS_DB, [r.right / r.sent for r in rows], [r.sent for r in rows])
    missed = sum(row.sent - row.right for row in rows)
    wrong = sum(row.wrong for row in rows) / missed
    levels_db, shares = sweep_curve(SWEEP.read_text("utf-8"))
    sweep = fit(levels_db, shares, [1.0] * len(levels_db))
    lines = [
        *table(rows, options.calls),
        "",
        f"Best logistic for words: {best}. Of missed words, {100 * wrong:.0f} % are taken for "
        f"others. The recogniser's sweep (own_recogniser.md, {SWEEP_SET}, steady) gives {sweep}.",
    ]
    print("\n".join(lines))
    write_table(options.into, "ears", lines)
    if options.values is not None:
        figures = {
            "threshold_db": round(best.threshold_db, 1),
            "slope_per_db": round(best.slope_per_db, 2),
            "lapse": round(best.lapse, 3),
            "wrong_in_noise": round(wrong, 2),
        }
        text = options.values.read_text("utf-8")
        options.values.write_text(with_values(text, "recogniser", figures), "utf-8")


if __name__ == "__main__":
    main()
