"""Rank the sets of conditions by a published index of the Modified Rhyme Test and by the machine.

The index ABC-MRT16 estimates the share of recorded words that listeners would recognise. It is
independent of this project: its clips are recordings of four people, and it brings its own
templates. If the machine's 50 % threshold shows how hard conditions are, both rank the sets in
about the same order. The thresholds are those of tests/measured/conditions.md.

Run by hand, with the packages that tests/tools/rhyme_test.py names:
    python -m tests.tools.rhyme_test_conditions FOLDER_OF_CLIPS [--clips 80] [--into FILE]
The result is in tests/measured/rhyme_test.md.

Source: S. Voran, A multiple bandwidth objective speech intelligibility estimator, ICASSP 2017.
"""

import argparse
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from scipy.stats import spearmanr
from tqdm import tqdm

from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.radio.channel import simulate
from drill.radio.presets import load_preset
from tests.tools.rhyme_test import SEED, heard_by_index, load_clips, load_index
from tests.tools.tables import write_table

SNRS_DB = (0.0, 6.0, 12.0)
THRESHOLDS_FILE = Path("tests/measured/conditions.md")
NEIGHBOUR_STEP = 17
"""Distance in the list between a clip and the clips that its neighbours say."""


def machine_thresholds_db(table: str) -> dict[str, float]:
    """Return the machine's 50 % threshold of each set of conditions from its table in Markdown."""
    rows = re.findall(r"^\| `([\w-]+)` \|.*\| ([+-][\d.]+) \| [+-][\d.]+ \|$", table, re.MULTILINE)
    return {name: float(threshold) for name, threshold in rows}


def measure_index(
    index: Any, clips: Sequence[Clip], numbers: Sequence[int], conditions: Conditions
) -> float:
    """Return the index, 0 to 1, averaged over SNRS_DB. numbers: of the clips in the index."""
    shares = []
    for snr_db in SNRS_DB:
        noisy = replace(conditions, snr_db=snr_db)
        heard = []
        for number, clip in enumerate(clips):
            others = [
                clips[(number + NEIGHBOUR_STEP * (place + 1)) % len(clips)]
                for place in range(len(noisy.neighbours))
            ]
            heard.append(heard_by_index(simulate(clip, noisy, SEED + number, others).clip))
        share, _ = index.process(heard, list(numbers))
        shares.append(float(share))
    return sum(shares) / len(shares)


def rank_lines(indices: Mapping[str, float], thresholds_db: Mapping[str, float]) -> list[str]:
    """Return the table in Markdown, hardest for the index first, with Spearman's rho above it."""
    names = sorted(indices, key=lambda name: indices[name])
    correlation = spearmanr(
        [indices[name] for name in names], [-thresholds_db[name] for name in names]
    )
    return [
        f"Spearman's rank correlation over {len(names)} sets: {correlation.statistic:.2f}.",
        "",
        "| conditions | index, % | machine's threshold, dB |",
        "|---|---|---|",
        *(
            f"| `{name}` | {100 * indices[name]:.0f} | {thresholds_db[name]:+.1f} |"
            for name in names
        ),
    ]


def main() -> None:
    """Measure every set that has a threshold, and write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--clips", type=int, default=80)
    parser.add_argument("--into")
    options = parser.parse_args()
    index = load_index()
    numbers, clips = load_clips(index, options.folder, options.clips)
    thresholds_db = machine_thresholds_db(THRESHOLDS_FILE.read_text("utf-8"))
    indices = {
        name: measure_index(index, clips, numbers, load_preset(name).conditions)
        for name in tqdm(thresholds_db)
    }
    write_table(options.into, "rhyme_test_conditions", rank_lines(indices, thresholds_db))


if __name__ == "__main__":
    main()
