"""Measure how well the index of the sending drill can tell a take from the reference voice.

The reference voice says each prompt again, a little quicker or slower, higher or lower, as people
do from one take to the next, in a simulated room and with silence around it. Such a take is as good
as the reference, so every difference that the index shows is false. Muffled takes (third-order
low-pass at 800 Hz) show which differences the index can find.

Run by hand: python -m tests.tools.sending_index [--prompts 8] [--into FILE]
tests/measured/sending_index.md contains the result.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random

import numpy as np
from scipy.signal import butter, lfilter
from tqdm import tqdm

from drill import voices
from drill.core.models import Clip
from drill.psychometrics.intervals import Interval
from drill.radio.presets import load_preset
from drill.sending.far_end import reference_operator, simulate_far_ends
from drill.sending.models import Prompt
from drill.sending.prompts import compose_prompt
from tests.drill.sending.takes import own_station
from tests.tools.defects import record_in_room
from tests.tools.tables import write_table

CONDITIONS = ("plain", "usual-day")
PATH_SNR_DB = 12.0
SPREAD = 0.08
"""Largest change of pace and pitch, as a share; common practice, no source."""
MUFFLE_HZ, MUFFLE_ORDER = 800.0, 3


@dataclass(frozen=True, kw_only=True, slots=True)
class IndexRow:
    """Distances in dB of takes of one kind under one set of conditions.

    They are in the order of the prompts; None where the index gives no distance.
    """

    conditions: str
    kind: str
    distances_db: tuple[Interval | None, ...]


def spoken_again(prompt: Prompt, rng: Random) -> Clip:
    """Return a take of the reference voice with another pace and pitch, in a room."""
    operator = reference_operator()
    other = replace(
        operator,
        pace=operator.pace * rng.uniform(1 - SPREAD, 1 + SPREAD),
        pitch_hz=operator.pitch_hz * rng.uniform(1 - SPREAD, 1 + SPREAD),
    )
    clip = voices.speak_uncached(prompt.words, other, prompt.seed)
    silence = [np.zeros(round(rng.uniform(0, 1.5) * clip.rate_hz), np.float32) for _ in range(2)]
    samples = np.concatenate([silence[0], clip.samples, silence[1]])
    return record_in_room(Clip(samples=samples, rate_hz=clip.rate_hz), rng)


def muffled(clip: Clip) -> Clip:
    """Return a clip without its treble."""
    b, a = butter(MUFFLE_ORDER, MUFFLE_HZ, fs=clip.rate_hz)
    return replace(clip, samples=lfilter(b, a, clip.samples).astype(np.float32))


def measure_index(prompts: int) -> Iterator[IndexRow]:
    """Yield a row for each kind of take and set of conditions. Raises: NoVoice."""
    takes = []
    for number in range(prompts):
        prompt = compose_prompt("call", own_station(), number)
        takes.append((number, prompt, spoken_again(prompt, Random(number))))
    for name in CONDITIONS:
        conditions = load_preset(name).conditions
        for kind in ("as good", "muffled"):
            distances = [
                simulate_far_ends(
                    muffled(clip) if kind == "muffled" else clip,
                    prompt,
                    conditions,
                    path_snr_db=PATH_SNR_DB,
                    seed=number,
                ).behind_db
                for number, prompt, clip in tqdm(takes, desc=f"{name}, {kind}")
            ]
            yield IndexRow(conditions=name, kind=kind, distances_db=tuple(distances))


def index_lines(rows: Iterator[IndexRow]) -> list[str]:
    """Return the table in Markdown."""
    lines = [
        "| conditions | takes | n | mean, dB | SD, dB | half of the interval, dB | worse is shown "
        "| better is shown | no figure |",
        "|---" * 9 + "|",
    ]
    for row in rows:
        given = [distance for distance in row.distances_db if distance is not None]
        values = [distance.value for distance in given]
        halves = [(distance.high - distance.low) / 2 for distance in given]
        lines.append(
            f"| `{row.conditions}` | {row.kind} | {len(row.distances_db)} | {np.mean(values):+.2f} "
            f"| {np.std(values, ddof=1):.2f} | {np.mean(halves):.2f} "
            f"| {sum(d.low > 0 for d in given)} | {sum(d.high < 0 for d in given)} "
            f"| {len(row.distances_db) - len(given)} |"
        )
    return lines


def main() -> None:
    """Measure and print or write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--prompts", type=int, default=8)
    parser.add_argument("--into")
    options = parser.parse_args()
    write_table(options.into, "sending_index", index_lines(measure_index(options.prompts)))


if __name__ == "__main__":
    main()
