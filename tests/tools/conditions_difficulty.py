"""Measure by machine how hard each set of conditions is, compared with noise alone.

The recogniser `own` copies composed calls of the default operators under each shipped set of
conditions at several SNRs. A logistic curve fitted to the shares of whole calls gives the 50 %
threshold; the difficulty is how much higher it is than under `plain`. The same calls, operators
and seeds serve every set and every SNR. The figures are those of a machine: people cope better with
other voices on the frequency.

Run by hand: python -m tests.tools.conditions_difficulty [--calls N] [--snr DB ...] [NAME ...]
tests/measured/conditions.md contains the table of all sets.
"""

import argparse
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize
from scipy.special import expit

from drill import voices
from drill.core.arrays import FloatArray
from drill.core.models import Clip, Item
from drill.items.plan import Plan, compose_item
from drill.radio.channel import simulate
from drill.radio.presets import PLAIN_PRESET, load_preset, preset_names
from drill.recogniser import find_recogniser
from drill.recogniser.language import call_grammar, words_by_character
from tests.tools.tables import write_table

SNRS_DB = (-9.0, -6.0, -3.0, 0.0, 3.0, 6.0, 12.0, 18.0)
"""SNRs that are measured unless --snr is given."""
SEED = 1507
LAPSES = 0.02
"""Share of calls that are wrong at any SNR; common practice, no source."""
SLOPE_PER_DB = 0.3
"""Slope from which the fit starts; common practice, no source."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Difficulty:
    """Share of whole calls at each SNR, 0 to 1, and the 50 % threshold in dB."""

    name: str
    shares: tuple[float, ...]
    threshold_db: float


def measure_conditions(name: str, calls: int, snrs_db: Sequence[float]) -> Difficulty:
    """Return the difficulty of a set of conditions. Raises: NoRecogniser, NoVoice, UserError."""
    conditions = load_preset(name).conditions
    plan = Plan(seed=SEED, count=calls, conditions=conditions)
    items = [compose_item(plan, number) for number in range(calls)]
    clips = [_speak(item) for item in items]
    shares = []
    for snr_db in snrs_db:
        noisy = replace(conditions, snr_db=snr_db)
        right = [
            _copied_call(simulate(clips_of_item[0], noisy, item.seed, clips_of_item[1:]).clip)
            == item.message.call
            for item, clips_of_item in zip(items, clips, strict=True)
        ]
        shares.append(float(np.mean(right)))
    threshold_db = fit_threshold_db(snrs_db, shares)
    return Difficulty(name=name, shares=tuple(shares), threshold_db=threshold_db)


def _speak(item: Item) -> list[Clip]:
    wanted = voices.speak(item.message.words, item.operator, item.seed)
    others = [
        voices.speak(neighbour.message.words, neighbour.operator, item.seed + number)
        for number, neighbour in enumerate(item.neighbours, 1)
    ]
    return [wanted, *others]


def _copied_call(clip: Clip) -> str:
    words = find_recogniser("own").recognise(clip, call_grammar(alternates=True))
    characters = {word: text for text, spoken in words_by_character().items() for word in spoken}
    return "".join(characters.get(word.say, "") for word in words)


def fit_threshold_db(snrs_db: Sequence[float], shares: Sequence[float]) -> float:
    """Return the SNR at which a logistic curve through the shares reaches one half.

    The curve ends at 1 - LAPSES. It fits the shares by maximum likelihood.
    """
    snr_db, share = np.array(snrs_db), np.array(shares)

    def curve(values: FloatArray) -> FloatArray:
        return np.asarray((1 - LAPSES) * expit(np.exp(values[1]) * (snr_db - values[0])))

    def misfit(values: FloatArray) -> float:
        expected = np.clip(curve(values), 1e-3, 1 - 1e-3)
        return -float(np.sum(share * np.log(expected) + (1 - share) * np.log(1 - expected)))

    start = np.array([float(np.mean(snr_db)), np.log(SLOPE_PER_DB)])
    threshold_db, log_slope = minimize(misfit, start, method="Nelder-Mead").x
    return float(threshold_db - np.log((1 - LAPSES) / 0.5 - 1) / np.exp(log_slope))


def difficulty_rows(results: Sequence[Difficulty], snrs_db: Sequence[float]) -> list[str]:
    """Return the table in Markdown; the first result is that of `plain`."""
    head = " | ".join(f"{snr_db:+.0f} dB" for snr_db in snrs_db)
    lines = [
        f"| conditions | {head} | 50 % at, dB | harder than plain, dB |",
        "|---" * (len(snrs_db) + 3) + "|",
    ]
    for result in results:
        shares = " | ".join(f"{100 * share:.0f}" for share in result.shares)
        above_db = result.threshold_db - results[0].threshold_db
        lines.append(
            f"| `{result.name}` | {shares} | {result.threshold_db:+.1f} | {above_db:+.1f} |"
        )
    return lines


def main() -> None:
    """Measure the named sets of conditions, by default all, and write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", default=list(preset_names()))
    parser.add_argument("--calls", type=int, default=60)
    parser.add_argument("--snr", nargs="+", type=float, default=SNRS_DB)
    parser.add_argument("--into")
    options = parser.parse_args()
    names = [PLAIN_PRESET, *(name for name in options.names if name != PLAIN_PRESET)]
    results = []
    for name in names:
        results.append(measure_conditions(name, options.calls, options.snr))
        print(results[-1], flush=True)
    write_table(options.into, "conditions", difficulty_rows(results, options.snr))


if __name__ == "__main__":
    main()
