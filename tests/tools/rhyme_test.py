"""Measure what each AGC costs in intelligibility, by a published index of the Modified Rhyme Test.

ABC-MRT16 (package abcmrt16) estimates how many of 1,200 recorded words of four talkers listeners
would recognise, corrected for guessing. The clips come from the package mcvqoe-intelligibility and
pass the whole channel: steady path, Gaussian noise, usual filter. The index compares spectra over
time with a template, so it exaggerates the effect of a changing gain.

Run by hand, because the clips are 157 MB:
    pip install --no-deps abcmrt16==1.0.2
    pip download --no-deps mcvqoe-intelligibility==1.1.3, and unpack the wheel
    python -m tests.tools.rhyme_test FOLDER_OF_CLIPS [--clips 80] [--into FILE]
abcmrt16 asks the package silero-vad whether a clip contains speech at all. This tool replaces that
check by a constant yes, so that neither silero-vad nor torch is needed. The result is in
tests/measured/rhyme_test.md.

Sources: S. Voran, A multiple bandwidth objective speech intelligibility estimator, ICASSP 2017;
ANSI S3.2 for the Modified Rhyme Test.
"""

import argparse
import importlib
import sys
import types
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from scipy.signal import resample_poly

from drill.core.arrays import FloatArray
from drill.core.conditions import AGC_NAMES, Conditions, Receiver
from drill.core.models import Clip
from drill.radio import AUDIO_RATE_HZ
from drill.radio.channel import simulate
from tests.tools.tables import write_table

SNRS_DB = (6.0, 12.0, 18.0)
INDEX_RATE_HZ = 48_000
SEED = 100


def load_index() -> Any:
    """Return the module of ABC-MRT16, without its speech detector."""
    detector = types.ModuleType("silero_vad")
    detector.load_silero_vad = lambda: None  # type: ignore[attr-defined]
    detector.get_speech_timestamps = lambda *_, **__: [1]  # type: ignore[attr-defined]
    sys.modules.setdefault("silero_vad", detector)
    return importlib.import_module("abcmrt")


def load_clips(index: Any, folder: Path, count: int) -> tuple[list[int], list[Clip]]:
    """Return the first clips in the order that the index uses, and their numbers in that order."""
    numbers = list(index.file_order()[:count])
    clips = []
    for number in numbers:
        name = index.number2file(number).replace(".wav", "_orig.wav")
        samples, rate_hz = soundfile.read(folder / name, dtype="float32")
        clips.append(Clip(samples=samples, rate_hz=rate_hz))
    return numbers, clips


def heard_by_index(clip: Clip) -> FloatArray:
    """Return the received audio at the sampling rate of the index."""
    samples = clip.samples.astype(np.float64)
    return np.asarray(resample_poly(samples, INDEX_RATE_HZ // AUDIO_RATE_HZ, 1))


def measure_agc(index: Any, clips: Sequence[Clip], numbers: Sequence[int], agc: str) -> list[float]:
    """Return the index, 0 to 1, at each of SNRS_DB."""
    results = []
    for snr_db in SNRS_DB:
        conditions = Conditions(snr_db=snr_db, receiver=Receiver(agc=agc))
        heard = [
            heard_by_index(simulate(clip, conditions, SEED + number).clip)
            for number, clip in enumerate(clips)
        ]
        share, _ = index.process(heard, list(numbers))
        results.append(float(share))
    return results


def main() -> None:
    """Measure every AGC and write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--clips", type=int, default=80)
    parser.add_argument("--into")
    options = parser.parse_args()
    index = load_index()
    numbers, clips = load_clips(index, options.folder, options.clips)
    head = " | ".join(f"{snr_db:+.0f} dB" for snr_db in SNRS_DB)
    lines = [f"| AGC | {head} |", "|---" * (len(SNRS_DB) + 1) + "|"]
    for agc in AGC_NAMES:
        shares = measure_agc(index, clips, numbers, agc)
        lines.append(f"| `{agc}` | {' | '.join(f'{100 * share:.0f}' for share in shares)} |")
    write_table(options.into, "rhyme_test", lines)


if __name__ == "__main__":
    main()
