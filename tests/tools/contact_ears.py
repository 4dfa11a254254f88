"""Measures the far operator's recogniser as a listener, and fits the model's ears to it.

python -m tests.tools.contact_ears [--calls N] [--into FILE]

N calls (default 60) at each SNR, spoken by OPERATORS with the ITU's words, arrive over a steady
path with Gaussian noise, through the same air and grammar as in a contact. Prints the share of
words and of whole calls, and the logistic function that fits the words best.
"""

import argparse
from dataclasses import replace
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


def measure(snr_db: float, calls: int) -> tuple[int, int, int]:
    """Return words right, words sent and whole calls right at an SNR."""
    values = load_values()
    plan = Plan(seed=1, part="over", mix="world", voices=("birch",), conditions=Conditions())
    ears = MachineEars(far_recogniser(), values.recogniser, 0.0, plan.load_exchange())
    words_right = words_sent = calls_right = 0
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
        agreeing, _ = Evidence().add(tuple(call)).compare(copied)
        words_right += agreeing
        words_sent += len(call)
        calls_right += "".join(copied) == call
    return words_right, words_sent, calls_right


def fit(rows: list[tuple[float, int, int, int]]) -> tuple[float, float]:
    """Return threshold in dB and slope per dB of the logistic that fits the words best."""
    levels, right, sent = (np.array([row[k] for row in rows], float) for k in range(3))
    lapse = load_values().ears.lapse

    def cost(parameters: np.ndarray) -> float:
        threshold_db, slope = parameters
        p = (1 - lapse) / (1 + np.exp(-slope * (levels - threshold_db)))
        return float(-np.sum(right * np.log(p) + (sent - right) * np.log(1 - p)))

    best = minimize(cost, np.array([-8.0, 0.35]), method="Nelder-Mead").x
    return float(best[0]), float(best[1])


def main() -> None:
    """Measure, print and write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--calls", type=int, default=60)
    parser.add_argument("--into", metavar="FILE")
    options = parser.parse_args()
    calls = options.calls
    rows = []
    for snr_db in LEVELS_DB:
        words_right, words_sent, calls_right = measure(snr_db, calls)
        rows.append((snr_db, words_right, words_sent, calls_right))
        print(f"{snr_db:+.0f} dB: words {words_right / words_sent:.3f}, calls "
              f"{calls_right / calls:.2f}", flush=True)  # fmt: skip
    threshold_db, slope = fit(rows)
    print(f"words: threshold {threshold_db:.1f} dB, slope {slope:.3f} per dB")
    lines = ["| SNR in 3 kHz, dB | words copied | whole calls copied |", "|---|---|---|"]
    lines += [
        f"| {snr_db:+.0f} | {100 * right / sent:.0f} % of {sent} "
        f"| {100 * whole / calls:.0f} % of {calls} |"
        for snr_db, right, sent, whole in rows
    ]
    lines += ["", f"Best logistic for words: threshold {threshold_db:.1f} dB, {slope:.3f} per dB."]
    write_table(options.into, "ears", lines)


if __name__ == "__main__":
    main()
