"""The recogniser gate: an operator is only shipped if a speech recogniser understands it.

Each operator speaks composed calls without noise. pocketsphinx, with its own US English model and a
grammar of calls, transcribes them, and the words are compared. The calls use call sign series that
are allocated to nobody (ITU RR Appendix 42), so they belong to no station.

Run by hand: python -m tests.tools.voice_gate [-v] [--into FILE] [OPERATOR ...]
The table in tests/measured/voice_gate.md is that of the whole roster.
"""

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from random import Random
from typing import Any

import numpy as np
from tqdm import tqdm

from drill.core.arrays import resample
from drill.core.errors import ResourceUnavailable
from drill.core.models import Clip, Operator
from drill.voices import speak_uncached
from drill.voices.operators import find_operator
from drill.voices.people.roster import ROSTER
from drill.voices.people.styles import apply_style_to_operator
from phonetics.message import Word
from tests.tools.pitch import median_pitch_hz
from tests.tools.tables import write_table

REQUIRED_ACCURACY = {"natural": 0.95, "formant": 0.85, "studio": 0.95, "bank": 0.85}
"""Share of correct words that an operator of each engine has to reach."""
SERIES = ("E8", "H5", "S4", "T9", "Z4")
CODE_WORDS = {
    word[0].upper(): word
    for word in (
        "alfa", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india",
        "juliett", "kilo", "lima", "mike", "november", "oscar", "papa", "quebec", "romeo",
        "sierra", "tango", "uniform", "victor", "whiskey", "x-ray", "yankee", "zulu",
    )
}  # fmt: skip
DIGIT_WORDS = {
    str(value): word
    for value, word in enumerate(
        ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    )
}
WORDS = CODE_WORDS | DIGIT_WORDS
PRONUNCIATIONS = {
    "alfa": ("AE L F AH",),
    "juliett": ("JH UW L IY EH T", "JH UW L IY AH T"),
    "papa": ("P AH P AA", "P AA P AA", "P AA P AH"),
    "quebec": ("K AH B EH K", "K EH B EH K", "K W AH B EH K"),
    "x-ray": ("EH K S R EY",),
}
"""Words that pocketsphinx's dictionary lacks, or stresses differently from RR Appendix 14."""
GRAMMAR = """#JSGF V1.0;
grammar calls;
<letter> = {letters};
<digit> = {digits};
<prefix> = <letter> [<letter>] | <letter> <digit> | <digit> <letter>;
public <call> = <prefix> <digit> <letter> [<letter> [<letter>]];
"""
TABLE_HEADER = (
    "| operator | engine | accent | vocal style | target pitch Hz | measured pitch Hz | words "
    "| correct |",
    "|---|---|---|---|---|---|---|---|",
)
_MODEL_RATE_HZ = 16_000
_PADDING_S = 0.25
_DITHER = 3e-3

SpeakFunction = Callable[[Sequence[Word], Operator, int], Clip]
"""Speaks words as an operator, with a seed."""


@dataclass(frozen=True, kw_only=True, slots=True)
class GateVerdict:
    """How well the recogniser understood an operator.

    words: how many words were spoken. wrong: how many of them were recognised wrongly, with missing
    and inserted words. pitch_hz: median measured pitch. confusions: spoken and recognised text
    where they differ.
    """

    operator: Operator
    words: int
    wrong: int
    pitch_hz: float
    confusions: tuple[tuple[str, str], ...] = ()

    @property
    def accuracy(self) -> float:
        """Return the share of correct words, 0 to 1 or less; an inserted word counts as wrong."""
        return 1 - self.wrong / self.words

    @property
    def passed(self) -> bool:
        """Return True if the accuracy reaches what the operator's engine requires."""
        return self.accuracy >= REQUIRED_ACCURACY[self.operator.engine]


def compose_gate_calls(count: int, rng: Random) -> list[str]:
    """Return calls of six characters such as E87ABC; 20 calls have every letter and digit twice."""
    letters, digits = _evenly("".join(CODE_WORDS), rng), _evenly("".join(DIGIT_WORDS), rng)
    series = _evenly(SERIES, rng)
    return [
        next(series) + next(digits) + "".join(next(letters) for _ in range(3)) for _ in range(count)
    ]


def _evenly(choices: Sequence[str], rng: Random) -> Iterator[str]:
    """Yield the choices in random order without end, each equally often."""
    while True:
        yield from rng.sample(choices, len(choices))


def call_words(call: str) -> tuple[Word, ...]:
    """Return the words of a call, with a short pause after its second digit, as operators do."""
    return tuple(
        Word(say=WORDS[character], means=character, field="call", pause="," if index == 2 else "")
        for index, character in enumerate(call)
    )


@cache
def _decoder() -> Any:
    """Return the recogniser, ready for calls. Raises: ResourceUnavailable if it is missing."""
    try:
        import pocketsphinx
    except ImportError:
        raise ResourceUnavailable(
            "the recogniser gate needs pocketsphinx: python -m pip install pocketsphinx==5.1.1"
        ) from None
    decoder = pocketsphinx.Decoder(lm=None, wip=1e-3, loglevel="FATAL")
    for word, pronunciations in PRONUNCIATIONS.items():
        for number, phones in enumerate(pronunciations):
            name = word if not number else f"{word}({number + 1})"
            if not number and decoder.lookup_word(word):
                name = f"{word}({number + 7})"
            decoder.add_word(name, phones, True)
    grammar = GRAMMAR.format(
        letters=" | ".join(CODE_WORDS.values()), digits=" | ".join(DIGIT_WORDS.values())
    )
    decoder.add_jsgf_string("calls", grammar)
    decoder.activate_search("calls")
    return decoder


def transcribe(clip: Clip) -> list[str]:
    """Return the words that the recogniser finds in a clip of one call."""
    sound = resample(clip.samples, clip.rate_hz, _MODEL_RATE_HZ)
    padded = np.pad(sound, round(_PADDING_S * _MODEL_RATE_HZ))
    # The model was never trained on digital silence, so a little noise is added.
    noisy = padded + _DITHER * np.random.default_rng(0).standard_normal(len(padded))
    samples = (np.clip(noisy, -1, 1) * 32767).astype("<i2").tobytes()
    decoder = _decoder()
    decoder.start_utt()
    decoder.process_raw(samples, full_utt=True)
    decoder.end_utt()
    hypothesis = decoder.hyp()
    if hypothesis is None:
        return []
    return [word.split("(")[0] for word in hypothesis.hypstr.split()]


def count_word_errors(spoken: Sequence[str], recognised: Sequence[str]) -> int:
    """Return the number of substituted, missing and inserted words (Levenshtein distance)."""
    row = list(range(len(recognised) + 1))
    for count, word in enumerate(spoken, 1):
        diagonal, row[0] = row[0], count
        for index, other in enumerate(recognised, 1):
            diagonal, row[index] = (
                row[index],
                min(row[index] + 1, row[index - 1] + 1, diagonal + (word != other)),
            )
    return row[-1]


def judge_operator(
    operator: Operator, speak: SpeakFunction, *, calls: int = 20, seed: int = 5
) -> GateVerdict:
    """Return how well the recogniser understands an operator over this many calls.

    Raises: ResourceUnavailable if the recogniser or the operator's engine is missing.
    """
    word_count = wrong = 0
    pitches_hz, confusions = [], []
    for number, call in enumerate(compose_gate_calls(calls, Random(seed))):
        words = call_words(call)
        clip = speak(words, operator, number)
        spoken, recognised = [word.say for word in words], transcribe(clip)
        word_count += len(spoken)
        wrong += count_word_errors(spoken, recognised)
        pitches_hz.append(median_pitch_hz(clip))
        if len(spoken) == len(recognised):
            confusions += [(a, b) for a, b in zip(spoken, recognised, strict=True) if a != b]
        else:
            confusions.append((" ".join(spoken), " ".join(recognised)))
    return GateVerdict(
        operator=operator,
        words=word_count,
        wrong=wrong,
        pitch_hz=float(np.median(pitches_hz)),
        confusions=tuple(confusions),
    )


def table_row(verdict: GateVerdict) -> str:
    """Return a verdict as a row of a Markdown table."""
    operator = verdict.operator
    note = "" if verdict.passed else " (hard)" if operator.hard else " FAILED"
    return (
        f"| {operator.name} | {operator.engine} | {operator.accent or '-'} "
        f"| {operator.vocal_style} | {apply_style_to_operator(operator).pitch_hz:.0f} "
        f"| {verdict.pitch_hz:.0f} | {verdict.words} | {100 * verdict.accuracy:.1f} %{note} |"
    )


def main() -> None:
    """Print the verdicts on the named operators, or on the whole roster, as a table."""
    parser = argparse.ArgumentParser(prog="python -m tests.tools.voice_gate")
    parser.add_argument("names", nargs="*", metavar="OPERATOR")
    parser.add_argument("--into", metavar="FILE", help="replace the table in this file")
    parser.add_argument("-v", action="store_true", help="list the confused words")
    options = parser.parse_args()
    operators = [find_operator(name) for name in options.names] or ROSTER
    verdicts = [
        judge_operator(operator, speak_uncached) for operator in tqdm(operators, file=sys.stderr)
    ]
    rows = [table_row(verdict) for verdict in verdicts]
    write_table(options.into, "gate", [*TABLE_HEADER, *rows])
    for verdict in verdicts if options.v else ():
        print(f"{verdict.operator.name}: {verdict.confusions}")


if __name__ == "__main__":
    main()
