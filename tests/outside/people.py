"""Recordings of people that the listener is tried on: from Debian's packages, never shipped.

asterisk-core-sounds-en-g722: one talker, single words at 16 kHz (Allison Smith, CC-BY-SA-3.0).
codec2-examples: four radio operators, whole overs (LGPL-2.1). Of these only the groups of code
words and figures that are known with certainty are counted, whatever else is said around them.
The overs are of 8 kHz, half of what the listener's model was made for.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

import numpy as np

from drill.core.errors import ResourceUnavailable
from drill.core.models import Clip, Samples
from drill.recogniser import Listener
from drill.recogniser.grammar import either, many, network, weighted
from drill.recogniser.language import (
    FILLERS,
    RARE,
    digit,
    letter,
    procedure_words,
    words_by_character,
)
from drill.sending.hearing import hear
from drill.sending.models import Prompt, Take
from phonetics.alphabets import ITU
from phonetics.message import Field
from tests.tools.voice_gate import composed_calls, errors

ASTERISK = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
CODEC2 = Path("/usr/share/codec2/raw")
PACKAGE = "asterisk-core-sounds-en-g722"
RATE_HZ, WIDE_HZ = 8_000, 16_000
GAP_S = 0.2
CALLS = 20

OVERS = {
    "cq_ref": "KA9Q",
    "g3plx": "1234554321G3PLX",
    "vk5qi": "VK5QIVK5QI1234554321",
    "ve9qrp_10s": "VE9QRPBRUCE",
}
"""Recordings of codec2-examples and the characters that are said in them, among other words."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Tried:
    """What came of a recording: words said, and how many of them were heard as other or not."""

    name: str
    package: str
    how: str
    said: int
    wrong: int
    unsure: int


def single_word(character: str) -> Samples:
    """Return the talker's word for a letter or figure, 16 kHz, the silence around it cut.

    Raises: ResourceUnavailable where G722, which reads the recordings, is not installed.
    """
    try:
        from G722 import G722
    except ImportError:
        raise ResourceUnavailable("the recordings need G722: pip install 'faintcall[test]'") from None
    name = f"digits/{character}" if character.isdigit() else f"phonetic/{character.lower()}_p"
    data = (ASTERISK / f"{name}.g722").read_bytes()
    samples = np.asarray(G722(WIDE_HZ, 64_000).decode(data), np.float32) / 32768
    loud = np.flatnonzero(np.abs(samples) > 0.01)
    return np.asarray(samples[loud[0] : loud[-1]], np.float32)


def joined(characters: str) -> Clip:
    """Return the talker's words for characters, one after the other."""
    gap = np.random.default_rng(0).normal(0, 1e-4, round(GAP_S * WIDE_HZ)).astype(np.float32)
    parts = [part for one in characters for part in (gap, single_word(one))]
    sound = np.concatenate([*parts, gap]).astype(np.float32)
    return Clip(samples=sound, rate_hz=WIDE_HZ)


def call_prompt(call: str) -> Prompt:
    """Return a prompt that asks for a call and nothing else."""
    field = Field(name="call", kind="call", text=call)
    return Prompt(kind="call", seed=0, says="", call=call, exchange="", fields=(field,), words=())


def one_word(listener: Listener) -> Tried:
    """Return how many single words are told from all other code words and figures."""
    characters = "".join(ITU) + "0123456789"
    grammar = network("one", either([letter(alternates=False), digit()]))
    heard = [listener.hear(joined(character), grammar) for character in characters]
    right = [
        bool(words) and character_of(words[0].say) == character
        for character, words in zip(characters, heard, strict=True)
    ]
    return Tried(
        name="single words", package=PACKAGE, how="one of all code words and figures",
        said=len(characters), wrong=right.count(False),
        unsure=sum(word.confidence < listener.unsure for words in heard for word in words),
    )  # fmt: skip


def asked_calls(listener: Listener) -> Tried:
    """Return how many words of composed calls are heard as the review hears them."""
    said = wrong = unsure = 0
    for call in composed_calls(CALLS, Random(5)):
        _, heard = hear(Take(prompt=call_prompt(call), clip=joined(call)), listener)
        said += len(call)
        fine = [one for one in heard if one.kind in ("right", "form")]
        wrong += len(call) - len(fine)
        unsure += sum(not one.sure for one in heard)
    return Tried(
        name="single words, joined to calls", package=PACKAGE,
        how="as the review does, the call being known", said=said, wrong=wrong, unsure=unsure,
    )  # fmt: skip


def unknown_calls(listener: Listener) -> Tried:
    """Return how many words of the same are heard when nothing is expected but characters."""
    one = either([letter(alternates=False), digit()])
    grammar = network("characters", many(one))
    said = wrong = unsure = 0
    for call in composed_calls(CALLS, Random(5)):
        heard = listener.hear(joined(call), grammar)
        said += len(call)
        wrong += errors(list(call), [character_of(word.say) for word in heard])
        unsure += sum(word.confidence < listener.unsure for word in heard)
    return Tried(
        name="the same", package=PACKAGE, how="any code words and figures",
        said=said, wrong=wrong, unsure=unsure,
    )  # fmt: skip


def character_of(word: str) -> str:
    """Return the character that a word stands for, the word itself where it is none."""
    return next((one for one, words in words_by_character().items() if word in words), word)


def operators(listener: Listener) -> Iterator[Tried]:
    """Give how many of the characters that operators send are heard, in whole overs."""
    characters = either([letter(alternates=True), digit()])
    around = either(sorted(procedure_words()))
    grammar = network("over", many(weighted((characters, 0.7), (around, 0.5))), FILLERS, RARE)
    for name, sent in OVERS.items():
        samples = np.asarray(np.fromfile(CODEC2 / f"{name}.raw", "<i2") / 32768, np.float32)
        heard = listener.hear(Clip(samples=samples, rate_hz=RATE_HZ), grammar)
        known = [character_of(word.say) for word in heard]
        yield Tried(
            name=f"over {name}", package="codec2-examples", how="any words, in their order",
            said=len(sent), wrong=len(sent) - in_order(sent, known),
            unsure=sum(word.confidence < listener.unsure for word in heard),
        )  # fmt: skip


def in_order(sent: str, heard: Sequence[str]) -> int:
    """Return the most characters of those sent that come in this order among those heard."""
    row = [0] * (len(heard) + 1)
    for character in sent:
        before = row.copy()
        for place, word in enumerate(heard, 1):
            row[place] = max(before[place], row[place - 1], before[place - 1] + (word == character))
    return row[-1]


def tried(listener: Listener) -> Iterator[Tried]:
    """Give what comes of the recordings that are on this machine."""
    if (ASTERISK / "phonetic/a_p.g722").exists():
        yield one_word(listener)
        yield asked_calls(listener)
        yield unknown_calls(listener)
    if CODEC2.exists():
        yield from operators(listener)
