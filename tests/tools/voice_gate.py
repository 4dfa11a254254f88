"""The recogniser gate: is every operator understood by a machine that has never met it?

Each operator speaks composed calls, clean; pocketsphinx, with its own US English model and a
grammar of calls, writes down what it hears; the words are compared. A garbled voice cannot ship.
By hand: python -m tests.tools.voice_gate [--into DEVELOPERS.md] [OPERATOR ...]

The calls are of series that no administration has been given (ITU RR Appendix 42).
"""

import argparse
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from random import Random
from typing import Any

import numpy as np

from drill.core.arrays import resampled
from drill.core.errors import MachineLack
from drill.core.models import Clip, Operator
from drill.voices.people.styles import styled
from phonetics.message import Word
from tests.tools.tables import put

REQUIRED = {"natural": 0.95, "formant": 0.85, "studio": 0.95, "bank": 0.85}  # share of words right
RATE_HZ = 16_000  # of the recogniser's model
PADDING_S = 0.25
DITHER = 3e-3
SERIES = ("E8", "H5", "S4", "T9", "Z4")
LETTERS = {
    word[0].upper(): word
    for word in (
        "alfa", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india",
        "juliett", "kilo", "lima", "mike", "november", "oscar", "papa", "quebec", "romeo",
        "sierra", "tango", "uniform", "victor", "whiskey", "x-ray", "yankee", "zulu",
    )
}  # fmt: skip
DIGITS = {
    str(value): word
    for value, word in enumerate(
        ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    )
}
WORDS = LETTERS | DIGITS
# Words that the recogniser's dictionary lacks or stresses otherwise than RR Appendix 14.
PHONES = {
    "alfa": ("AE L F AH",),
    "juliett": ("JH UW L IY EH T", "JH UW L IY AH T"),
    "papa": ("P AH P AA", "P AA P AA", "P AA P AH"),
    "quebec": ("K AH B EH K", "K EH B EH K", "K W AH B EH K"),
    "x-ray": ("EH K S R EY",),
}
GRAMMAR = """#JSGF V1.0;
grammar calls;
<letter> = {letters};
<digit> = {digits};
<prefix> = <letter> [<letter>] | <letter> <digit> | <digit> <letter>;
public <call> = <prefix> <digit> <letter> [<letter> [<letter>]];
"""
HEAD = (
    "| operator | engine | accent | style | pitch asked Hz | measured Hz | words | right |",
    "|---|---|---|---|---|---|---|---|",
)

Speak = Callable[[Sequence[Word], Operator, int], Clip]


@dataclass(frozen=True, kw_only=True, slots=True)
class Verdict:
    """What the recogniser made of one operator: words spoken, words wrong, median pitch in Hz."""

    operator: Operator
    words: int
    wrong: int
    pitch_hz: float
    confusions: tuple[tuple[str, str], ...] = ()

    @property
    def accuracy(self) -> float:
        """Return the share of words right; an insertion counts as a word wrong."""
        return 1 - self.wrong / self.words

    @property
    def passed(self) -> bool:
        """Return True where the accuracy is what the operator's engine is to reach."""
        return self.accuracy >= REQUIRED[self.operator.engine]


def composed_calls(count: int, rng: Random) -> list[str]:
    """Return calls of six characters, such as E87ABC; over 20 hold every letter and digit twice."""
    letters, digits = _evenly("".join(LETTERS), rng), _evenly("".join(DIGITS), rng)
    series = _evenly(SERIES, rng)
    return [
        next(series) + next(digits) + "".join(next(letters) for _ in range(3)) for _ in range(count)
    ]


def _evenly(choices: Sequence[str], rng: Random) -> Any:
    while True:
        yield from rng.sample(choices, len(choices))


def words_of(call: str) -> tuple[Word, ...]:
    """Return the words of a call, a short pause after its second digit as operators make it."""
    return tuple(
        Word(say=WORDS[character], means=character, field="call", pause="," if place == 2 else "")
        for place, character in enumerate(call)
    )


@cache
def _decoder() -> Any:
    """Return the recogniser. Raises: MachineLack where it is not installed."""
    try:
        import pocketsphinx
    except ImportError:
        raise MachineLack(
            "the recogniser gate needs pocketsphinx: python -m pip install pocketsphinx==5.1.1"
        ) from None
    decoder = pocketsphinx.Decoder(lm=None, wip=1e-3, loglevel="FATAL")
    for word, readings in PHONES.items():
        for number, phones in enumerate(readings):
            name = word if not number else f"{word}({number + 1})"
            if not number and decoder.lookup_word(word):
                name = f"{word}({number + 7})"
            decoder.add_word(name, phones, True)
    grammar = GRAMMAR.format(
        letters=" | ".join(LETTERS.values()), digits=" | ".join(DIGITS.values())
    )
    decoder.add_jsgf_string("calls", grammar)
    decoder.activate_search("calls")
    return decoder


def transcribe(clip: Clip) -> list[str]:
    """Return the words that the recogniser hears in a clip of one call."""
    sound = resampled(clip.samples, clip.rate_hz, RATE_HZ)
    quiet = np.pad(sound, round(PADDING_S * RATE_HZ))
    # Digital silence is outside what the model was trained on.
    padded = quiet + DITHER * np.random.default_rng(0).standard_normal(len(quiet))
    samples = (np.clip(padded, -1, 1) * 32767).astype("<i2").tobytes()
    decoder = _decoder()
    decoder.start_utt()
    decoder.process_raw(samples, full_utt=True)
    decoder.end_utt()
    heard = decoder.hyp()
    return [] if heard is None else [word.split("(")[0] for word in heard.hypstr.split()]


def errors(said: Sequence[str], heard: Sequence[str]) -> int:
    """Return the least number of words substituted, missing and inserted (Levenshtein)."""
    row = list(range(len(heard) + 1))
    for count, word in enumerate(said, 1):
        before, row[0] = row[0], count
        for place, other in enumerate(heard, 1):
            before, row[place] = (
                row[place],
                min(row[place] + 1, row[place - 1] + 1, before + (word != other)),
            )
    return row[-1]


def judge(operator: Operator, speak: Speak, *, calls: int = 20, seed: int = 5) -> Verdict:
    """Return the verdict on an operator over composed calls.

    Raises: MachineLack where recogniser or engine is missing.
    """
    words = wrong = 0
    pitches, confusions = [], []
    for number, call in enumerate(composed_calls(calls, Random(seed))):
        spoken = words_of(call)
        clip = speak(spoken, operator, number)
        said, heard = [word.say for word in spoken], transcribe(clip)
        words += len(said)
        wrong += errors(said, heard)
        pitches.append(median_pitch_hz(clip))
        if len(said) == len(heard):
            confusions += [(a, b) for a, b in zip(said, heard, strict=True) if a != b]
        else:
            confusions.append((" ".join(said), " ".join(heard)))
    return Verdict(
        operator=operator, words=words, wrong=wrong, pitch_hz=float(np.median(pitches)),
        confusions=tuple(confusions),
    )  # fmt: skip


def median_pitch_hz(clip: Clip) -> float:
    """Return the median pitch in Hz, 60 to 400, by autocorrelation over frames of 40 ms."""
    size, hop = round(0.04 * clip.rate_hz), round(0.01 * clip.rate_hz)
    starts = range(0, len(clip.samples) - size, hop)
    frames = np.array([clip.samples[start : start + size] for start in starts], np.float64)
    frames = frames[np.sqrt(np.mean(frames**2, axis=1)) > 0.05] * np.hanning(size)
    window = np.fft.irfft(np.abs(np.fft.rfft(np.hanning(size), 2 * size)) ** 2)
    shortest, longest = clip.rate_hz // 400, clip.rate_hz // 60
    pitches = []
    for frame in frames:
        # Divided by the window's own correlation: a long period is not put at a disadvantage.
        likeness = np.fft.irfft(np.abs(np.fft.rfft(frame, 2 * size)) ** 2)[: longest + 1]
        likeness = likeness / window[: longest + 1]
        likeness /= likeness[0]
        band = likeness[shortest:]
        if band.max() < 0.5:
            continue
        # The first peak nearly as high as the highest: two periods are as alike as one.
        peaks = np.flatnonzero((band[1:-1] >= band[:-2]) & (band[1:-1] > band[2:])) + 1
        high = peaks[band[peaks] > 0.9 * band.max()]
        if len(high):
            pitches.append(clip.rate_hz / (shortest + int(high[0])))
    return float(np.median(pitches)) if pitches else 0.0


def row_of(found: Verdict) -> str:
    """Return a verdict as a row of Markdown."""
    each = found.operator
    note = "" if found.passed else " (hard)" if each.hard else " FAILED"
    return (
        f"| {each.name} | {each.engine} | {each.accent or '-'} | {each.style} "
        f"| {styled(each).pitch_hz:.0f} | {found.pitch_hz:.0f} | {found.words} "
        f"| {100 * found.accuracy:.1f} %{note} |"
    )


def main() -> None:
    """Print the verdict on each operator named, or on the whole roster, as a table."""
    from tqdm import tqdm

    from drill.voices import utter
    from drill.voices.people.roster import ROSTER, operator

    parser = argparse.ArgumentParser(prog="python -m tests.tools.voice_gate")
    parser.add_argument("names", nargs="*", metavar="OPERATOR")
    parser.add_argument("--into", metavar="FILE", help="put the table into this file")
    parser.add_argument("-v", action="store_true", help="tell what was taken for what")
    options = parser.parse_args()
    people = [operator(name) for name in options.names] or ROSTER
    verdicts = [judge(each, utter) for each in tqdm(people, file=sys.stderr)]
    put(options.into, "gate", [*HEAD, *(row_of(found) for found in verdicts)])
    for found in verdicts if options.v else ():
        print(f"{found.operator.name}: {found.confusions}")


if __name__ == "__main__":
    main()
