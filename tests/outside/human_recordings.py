"""How well the recogniser understands recordings of people.

The recordings come from Debian packages and are never shipped with faintcall.
asterisk-core-sounds-en-g722: one talker, single words at 16 kHz (Allison Smith, CC-BY-SA-3.0).
codec2-examples: four radio operators, whole overs at 8 kHz (LGPL-2.1), half the sample rate of the
recogniser's model. In the overs, only the code words and figures that are known for certain count;
the speakers say other words around them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

import numpy as np

from drill.core.errors import ResourceUnavailable
from drill.core.models import Clip, Samples
from drill.recogniser import Recogniser
from drill.recogniser.grammar import any_number, build_grammar, choice, weighted_choice
from drill.recogniser.language import (
    FILLER_WORDS,
    RARE_WEIGHT,
    digit_expression,
    letter_expression,
    procedure_words,
    words_by_character,
)
from drill.sending.models import Take
from drill.sending.recognition import recognise_take
from phonetics.alphabets import ITU_CODE_WORDS
from tests.drill.sending.takes import call_prompt
from tests.tools.train_recogniser.edits import edit_distance
from tests.tools.voice_gate.calls import compose_gate_calls

ASTERISK_FOLDER = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
ASTERISK_PACKAGE = "asterisk-core-sounds-en-g722"
CODEC2_FOLDER = Path("/usr/share/codec2/raw")
CODEC2_PACKAGE = "codec2-examples"
OVERS = {
    "cq_ref": "KA9Q",
    "g3plx": "1234554321G3PLX",
    "vk5qi": "VK5QIVK5QI1234554321",
    "ve9qrp_10s": "VE9QRPBRUCE",
}
"""Recordings of codec2-examples, and the characters that are spelt in them among other words."""
_ASTERISK_RATE_HZ, _CODEC2_RATE_HZ = 16_000, 8_000
_PAUSE_S = 0.2
_CALLS = 20


@dataclass(frozen=True, kw_only=True, slots=True)
class RecognitionResult:
    """How well the recogniser understood one kind of recording.

    task: the recogniser's task. words: number of code words and figures spoken. wrong: number
    recognised wrongly or not at all. unsure: number of words with a confidence below the
    recogniser's limit.
    """

    name: str
    package: str
    task: str
    words: int
    wrong: int
    unsure: int

    @property
    def accuracy(self) -> float:
        """Return the share of correct words."""
        return 1 - self.wrong / self.words


def has_asterisk_recordings() -> bool:
    """Return True if the recordings of single words are installed."""
    return (ASTERISK_FOLDER / "phonetic/a_p.g722").exists()


def has_codec2_recordings() -> bool:
    """Return True if the recordings of overs are installed."""
    return (CODEC2_FOLDER / "g3plx.raw").exists()


def word_recording(character: str) -> Samples:
    """Return the talker's word for a letter or digit at 16 kHz, without the silence around it.

    Raises: ResourceUnavailable if the package G722, which decodes the recordings, is missing.
    """
    try:
        from G722 import G722
    except ImportError:
        raise ResourceUnavailable(
            "the recordings need G722: pip install 'faintcall[test]'"
        ) from None
    is_digit = character.isdigit()
    name = f"digits/{character}" if is_digit else f"phonetic/{character.lower()}_p"
    data = (ASTERISK_FOLDER / f"{name}.g722").read_bytes()
    samples = np.asarray(G722(_ASTERISK_RATE_HZ, 64_000).decode(data), np.float32) / 32768
    loud = np.flatnonzero(np.abs(samples) > 0.01)
    return np.asarray(samples[loud[0] : loud[-1]], np.float32)


def joined_recordings(characters: str) -> Clip:
    """Return the talker's words for the characters, joined with pauses."""
    pause_samples = round(_PAUSE_S * _ASTERISK_RATE_HZ)
    pause = np.random.default_rng(0).normal(0, 1e-4, pause_samples).astype(np.float32)
    parts = [part for character in characters for part in (pause, word_recording(character))]
    samples = np.concatenate([*parts, pause]).astype(np.float32)
    return Clip(samples=samples, rate_hz=_ASTERISK_RATE_HZ)


def recognise_single_words(recogniser: Recogniser) -> RecognitionResult:
    """Recognise each word alone, with all code words and figures as candidates."""
    characters = "".join(ITU_CODE_WORDS) + "0123456789"
    grammar = build_grammar(
        "one", choice([letter_expression(alternates=False), digit_expression()])
    )
    recognised = [
        recogniser.recognise(joined_recordings(character), grammar) for character in characters
    ]
    correct = [
        bool(words) and character_for(words[0].say) == character
        for character, words in zip(characters, recognised, strict=True)
    ]
    return RecognitionResult(
        name="single words",
        package=ASTERISK_PACKAGE,
        task="one of all code words and figures",
        words=len(characters),
        wrong=correct.count(False),
        unsure=sum(
            word.confidence < recogniser.unsure_below for words in recognised for word in words
        ),
    )


def recognise_known_calls(recogniser: Recogniser) -> RecognitionResult:
    """Recognise calls with a known text, as the review of a trainee's sending does."""
    words = wrong = unsure = 0
    for call in compose_gate_calls(_CALLS, Random(5)):
        take = Take(prompt=call_prompt(call), clip=joined_recordings(call))
        _, reviewed_words = recognise_take(take, recogniser)
        words += len(call)
        wrong += len(call) - sum(word.result in ("right", "form") for word in reviewed_words)
        unsure += sum(not word.sure for word in reviewed_words)
    return RecognitionResult(
        name="single words, joined to calls",
        package=ASTERISK_PACKAGE,
        task="as in the review, with the call known",
        words=words,
        wrong=wrong,
        unsure=unsure,
    )


def recognise_unknown_calls(recogniser: Recogniser) -> RecognitionResult:
    """Recognise the same calls with any sequence of code words and figures as candidates."""
    character = choice([letter_expression(alternates=False), digit_expression()])
    grammar = build_grammar("characters", any_number(character))
    words = wrong = unsure = 0
    for call in compose_gate_calls(_CALLS, Random(5)):
        recognised = recogniser.recognise(joined_recordings(call), grammar)
        words += len(call)
        wrong += edit_distance(list(call), [character_for(word.say) for word in recognised])
        unsure += sum(word.confidence < recogniser.unsure_below for word in recognised)
    return RecognitionResult(
        name="the same calls",
        package=ASTERISK_PACKAGE,
        task="any code words and figures",
        words=words,
        wrong=wrong,
        unsure=unsure,
    )


def character_for(word: str) -> str:
    """Return the character that a word represents, or the word itself if it represents none."""
    matches = (character for character, words in words_by_character().items() if word in words)
    return next(matches, word)


def recognise_overs(recogniser: Recogniser) -> Iterator[RecognitionResult]:
    """Recognise whole overs of radio operators, and count the known characters among the words."""
    characters = choice([letter_expression(alternates=True), digit_expression()])
    other_words = choice(sorted(procedure_words()))
    grammar = build_grammar(
        "over",
        any_number(weighted_choice((characters, 0.7), (other_words, 0.5))),
        FILLER_WORDS,
        RARE_WEIGHT,
    )
    for name, known in OVERS.items():
        samples = np.asarray(np.fromfile(CODEC2_FOLDER / f"{name}.raw", "<i2") / 32768, np.float32)
        recognised = recogniser.recognise(Clip(samples=samples, rate_hz=_CODEC2_RATE_HZ), grammar)
        recognised_characters = [character_for(word.say) for word in recognised]
        yield RecognitionResult(
            name=f"over {name}",
            package=CODEC2_PACKAGE,
            task="any words, in their order",
            words=len(known),
            wrong=len(known) - count_in_order(known, recognised_characters),
            unsure=sum(word.confidence < recogniser.unsure_below for word in recognised),
        )


def count_in_order(known: str, recognised: Sequence[str]) -> int:
    """Return how many known characters occur in the recognised ones in this order, at most."""
    row = [0] * (len(recognised) + 1)
    for character in known:
        before = row.copy()
        for index, word in enumerate(recognised, 1):
            match = before[index - 1] + (word == character)
            row[index] = max(before[index], row[index - 1], match)
    return row[-1]


def recognise_all(recogniser: Recogniser) -> Iterator[RecognitionResult]:
    """Yield the results for all recordings that are installed."""
    if has_asterisk_recordings():
        yield recognise_single_words(recogniser)
        yield recognise_known_calls(recogniser)
        yield recognise_unknown_calls(recogniser)
    if has_codec2_recordings():
        yield from recognise_overs(recogniser)
