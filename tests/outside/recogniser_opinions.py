"""The recogniser `own` and pocketsphinx on the same calls, with the same grammar.

pocketsphinx was written by others and has a model of US English trained on other speech; it is made
for clean speech with 8 kHz of bandwidth. In quiet, where both work, it gives an independent opinion
on the results of `own`. In noise the comparison shows how much training with noise helps.

Run by hand, with asterisk-core-sounds-en-g722 installed:
python -m tests.outside.recogniser_opinions [--calls 40] [--into tests/measured/opinions.md]
"""

import argparse
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from tqdm import tqdm

from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.radio.channel import simulate
from drill.recogniser import Recogniser, find_recogniser
from drill.recogniser.language import call_grammar
from tests.outside.human_recordings import character_for
from tests.tools.recogniser_sweep import speakers
from tests.tools.recogniser_sweep.test_sets import LabelledClip, calls, human_calls
from tests.tools.tables import write_table
from tests.tools.train_recogniser.edits import edit_distance

OPINION_SEED = 77
PATHS: Mapping[str, Conditions | None] = {
    "microphone": None,
    "SSB, no noise": Conditions(snr_db=None),
    "SSB, +12 dB": Conditions(snr_db=12.0),
    "SSB, 0 dB": Conditions(snr_db=0.0),
}
"""Paths from easy to hard; None is the sound before the radio path."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Opinion:
    """Results of a recogniser for calls from one set of speakers over one path.

    path: a key of PATHS. symbols: how many were sent. errors: edit distance of the characters,
    summed. right: number of whole calls.
    """

    speakers: str
    path: str
    recogniser: str
    calls: int
    right: int
    symbols: int
    errors: int

    @property
    def accuracy(self) -> float:
        """Share of symbols, 1 or less; insertions count as errors."""
        return 1 - self.errors / self.symbols


def opinion_sets(count: int) -> dict[str, list[LabelledClip]]:
    """Return calls of a person, and of natural operators. Raises: ResourceUnavailable, NoVoice."""
    natural = speakers.product("natural")
    return {
        "a person": list(human_calls(count, OPINION_SEED)),
        "natural operators": list(calls(natural, speakers.roster("natural"), count, OPINION_SEED)),
    }


def form_opinion(
    recogniser: Recogniser, clips: Sequence[LabelledClip], *, speakers_name: str, path: str
) -> Opinion:
    """Return a recogniser's results for clips received over a path."""
    right = errors = symbols = 0
    for number, labelled in enumerate(clips):
        call = labelled.label.call
        words = recogniser.recognise(
            _received(labelled.clip, path, number), call_grammar(alternates=True)
        )
        heard = [character_for(word.say) for word in words]
        distance = edit_distance(list(call), heard)
        right += distance == 0
        errors += distance
        symbols += len(call)
    return Opinion(
        speakers=speakers_name,
        path=path,
        recogniser=recogniser.name,
        calls=len(clips),
        right=right,
        symbols=symbols,
        errors=errors,
    )


def _received(clip: Clip, path: str, number: int) -> Clip:
    conditions = PATHS[path]
    return clip if conditions is None else simulate(clip, conditions, 4000 + number).clip


def all_opinions(count: int) -> Iterator[Opinion]:
    """Yield the opinions of both recognisers on all sets and paths."""
    recognisers = [find_recogniser(name) for name in ("own", "pocketsphinx")]
    for name, clips in opinion_sets(count).items():
        for path in tqdm(PATHS, desc=name):
            for recogniser in recognisers:
                yield form_opinion(recogniser, clips, speakers_name=name, path=path)


def opinion_lines(opinions: Iterator[Opinion]) -> list[str]:
    """Return the table in Markdown."""
    lines = [
        "| speakers | path | recogniser | calls | symbols, % | whole calls, % |",
        "|---|---|---|---|---|---|",
    ]
    for one in opinions:
        lines.append(
            f"| {one.speakers} | {one.path} | `{one.recogniser}` | {one.calls} "
            f"| {100 * one.accuracy:.0f} | {100 * one.right / one.calls:.0f} |"
        )
    return lines


def main() -> None:
    """Form all opinions and write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--calls", type=int, default=40)
    parser.add_argument("--into")
    options = parser.parse_args()
    write_table(options.into, "opinions", opinion_lines(all_opinions(options.calls)))


if __name__ == "__main__":
    main()
