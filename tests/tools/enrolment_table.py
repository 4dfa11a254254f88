"""The gain from enrolment: diphone voices copied before and after the recogniser learns them.

Run by hand, with the Debian package flite and sets made by tests.tools.recogniser_sweep:
python -m tests.tools.enrolment_table SETS [--calls N] [--into tests/measured/enrolment.md]
"""

import argparse
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np

from drill.core.models import Clip
from drill.recogniser.language import call_grammar
from drill.recogniser.own.adaptation import Adaptation
from drill.recogniser.own.engine import OwnRecogniser
from drill.recogniser.own.enrolment import learn_voice
from drill.recogniser.own.model import AcousticModel, load_model
from drill.voices.wordbank.words import essential_words
from phonetics.message import Word
from tests.tools.recogniser_sweep.speakers import FLITE_VOICES, flite
from tests.tools.recogniser_sweep.sweep import Cell, received
from tests.tools.recogniser_sweep.test_sets import LabelledClip, read_set
from tests.tools.tables import write_table
from tests.tools.train_recogniser.edits import edit_distance

STRETCHES = (1.0, 1.12, 0.9)
"""Factors on the length of sounds. flite says a word the same way each time, so each take needs
another pace."""
SNRS_DB = (None, 6.0, 0.0)
OTHERS = "studio-unseen"
LOUD = 0.01
"""Amplitude of the first and last sample that count as part of a word."""


def recordings(voice: str, stretch: float) -> dict[str, Clip]:
    """Return the words of enrolment, spoken by a voice of flite. Raises: ResourceUnavailable."""
    speak = flite(stretch)
    takes: dict[str, Clip] = {}
    for word in essential_words():
        clip = speak((Word(say=word),), voice)
        loud = np.flatnonzero(np.abs(clip.samples) > LOUD)
        takes[word] = Clip(samples=clip.samples[loud[0] : loud[-1]], rate_hz=clip.rate_hz)
    return takes


def learn(voice: str, takes: int, model: AcousticModel) -> Adaptation:
    """Return the adaptation learnt from takes of each word. Raises: ResourceUnavailable."""
    return learn_voice([recordings(voice, stretch) for stretch in STRETCHES[:takes]], model)


def errors_of_calls(
    clips: Sequence[LabelledClip],
    numbers: Sequence[int],
    recogniser: OwnRecogniser,
    snr_db: float | None,
) -> dict[int, int]:
    """Return the edit distance between each call and its copy at an SNR, by number of the call."""
    grammar = call_grammar(alternates=True)
    cell = Cell(test_set="", condition="steady", snr_db=snr_db)
    return {
        number: edit_distance(
            clips[number].label.call,
            recogniser.transcribe(received(clips, number, cell), grammar).text,
        )
        for number in numbers
    }


def percentages(
    clips: Sequence[LabelledClip], errors: Mapping[int, int], numbers: Sequence[int]
) -> str:
    """Return the percentages of characters and of whole calls that are right."""
    symbols = sum(len(clips[number].label.call) for number in numbers)
    wrong = sum(errors[number] for number in numbers)
    whole = sum(errors[number] == 0 for number in numbers)
    return f"{100 - 100 * wrong / symbols:.0f} / {100 * whole / len(numbers):.0f}"


def table_lines(folder: Path, calls: int, model: AcousticModel) -> Iterator[str]:
    """Yield the table line by line.

    folder: folder of the sets. calls: number of calls of each voice, and of the other voices.
    """
    clips, others = (read_set(folder / f"{name}.npz") for name in ("diphone", OTHERS))
    enrolled = set(essential_words())
    yield "| voice | learnt | calls | clean | +6 dB | 0 dB | other voices, 0 dB |"
    yield "|---|---|---|---|---|---|---|"
    for voice in FLITE_VOICES:
        of_voice = [n for n, clip in enumerate(clips) if clip.label.speaker == voice][:calls]
        known = [n for n in of_voice if enrolled.issuperset(clips[n].label.words)]
        learnt: list[tuple[str, Adaptation | None]] = [("nothing", None)]
        for takes in (2, 3):
            name = f"37 words, {takes} times"
            learnt.append((name, learn(voice, takes, model)))
        for name, adaptation in learnt:
            recogniser = OwnRecogniser(model, adaptation=adaptation)
            all_others = range(calls)
            lost = percentages(
                others, errors_of_calls(others, all_others, recogniser, 0.0), all_others
            )
            errors = [errors_of_calls(clips, of_voice, recogniser, snr_db) for snr_db in SNRS_DB]
            for group, numbers in (("all", of_voice), ("of learnt words", known)):
                figures = [percentages(clips, at_snr, numbers) for at_snr in errors]
                cells = [voice, name, f"{len(numbers)} {group}", *figures, lost]
                yield f"| {' | '.join(cells)} |"


def main() -> None:
    """Print the table, and write it into a file if one is given."""
    parser = argparse.ArgumentParser(prog="python -m tests.tools.enrolment_table")
    parser.add_argument("sets", type=Path)
    parser.add_argument("--calls", type=int, default=50, metavar="N", help="calls of each voice")
    parser.add_argument("--model", type=Path, metavar="FILE", help="another model file")
    parser.add_argument("--into", metavar="FILE", help="replace the table in this file")
    options = parser.parse_args()
    model = load_model() if options.model is None else AcousticModel(options.model.read_bytes())
    lines = list(table_lines(options.sets, options.calls, model))
    write_table(options.into, "enrolment", lines)


if __name__ == "__main__":
    main()
