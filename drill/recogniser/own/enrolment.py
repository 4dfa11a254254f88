"""Enrolment: from recorded words of one voice to an adaptation of the recogniser.

The words are joined to short overs with pauses and sent through the channel at several SNRs, so
that the recogniser learns the voice as received, and not the room in which it was recorded.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from random import Random

import numpy as np

from drill.core.arrays import resample
from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Clip, Samples
from drill.radio.channel import simulate
from drill.recogniser.grammar import Grammar
from drill.recogniser.own.adaptation import Adaptation, EnrolmentExample, learn_adaptation
from drill.recogniser.own.engine import OwnRecogniser, clip_features
from drill.recogniser.own.model import AcousticModel

OVERS = 60
OVER_LENGTHS = (1, 2, 3, 4, 5, 6, 6, 7)
"""Numbers of words in an over, drawn with equal probability."""
SNRS_DB = (None, None, 12.0, 6.0, 3.0, 0.0)
"""SNRs in 3 kHz, drawn with equal probability; None: without noise."""
PAUSES_S = (0.05, 0.5)
WORDS_RATE_HZ = 16_000
MIN_ENROLMENT_WORDS = 30
ROOM_NOISE = 1e-4
"""Standard deviation of the noise in pauses, at full scale 1."""

Recordings = Mapping[str, Clip]
"""One recording of each word, without silence around it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Enrolment:
    """An adaptation and its gain.

    words: number of words reserved for a test. before, after: how many of these were copied without
    noise before and after learning the others. All are 0 if every word was recorded only once.
    """

    adaptation: Adaptation
    words: int
    before: int
    after: int


def enrol_voice(
    takes: Sequence[Recordings], model: AcousticModel, grammar: Grammar, seed: int = 0
) -> Enrolment:
    """Return the adaptation to a voice.

    takes: recordings of the same speaker, one to three of each word. With two or more takes, the
    last one tests what was learnt from the others, before all of them are learnt. grammar: of one
    word, for that test.

    Raises: UserError if there are fewer than MIN_ENROLMENT_WORDS words that the model knows;
    NoRecogniser.
    """
    known = [_known_words(take, model) for take in takes]
    count = len({word for take in known for word in take})
    if count < MIN_ENROLMENT_WORDS:
        raise UserError(
            f"there are {count} recorded words that the recogniser knows; record at least "
            f"{MIN_ENROLMENT_WORDS}"
        )
    words = before = after = 0
    if len(known) > 1:
        tested = known[-1]
        taught = learn_voice(known[:-1], model, seed)
        words = len(tested)
        before = _copied(tested, OwnRecogniser(model), grammar)
        after = _copied(tested, OwnRecogniser(model, adaptation=taught), grammar)
    return Enrolment(
        adaptation=learn_voice(known, model, seed), words=words, before=before, after=after
    )


def _known_words(take: Recordings, model: AcousticModel) -> dict[str, Clip]:
    return {word: clip for word, clip in take.items() if model.vocabulary.tokens_of(word)}


def learn_voice(takes: Sequence[Recordings], model: AcousticModel, seed: int = 0) -> Adaptation:
    """Return the adaptation to a voice. takes: recordings of words that the model knows.

    Raises: NoRecogniser.
    """
    examples = []
    for words, clip in training_overs(takes, seed):
        posteriors, hidden = model.run_with_hidden(clip_features(clip))
        labels = tuple(token for word in words for token in model.vocabulary.tokens_of(word))
        examples.append(EnrolmentExample(words=posteriors.words, hidden=hidden, labels=labels))
    return learn_adaptation(examples, model.digest)


def training_overs(
    takes: Sequence[Recordings], seed: int, overs: int = OVERS
) -> Iterator[tuple[tuple[str, ...], Clip]]:
    """Yield overs of recorded words as they are received, with their words.

    Every recording occurs once before any is repeated.
    """
    rng = Random(f"enrolment {seed}")
    sounds = [
        (word, np.asarray(resample(clip.samples, clip.rate_hz, WORDS_RATE_HZ), np.float32))
        for take in takes
        for word, clip in take.items()
    ]
    waiting: list[tuple[str, Samples]] = []
    for _ in range(overs):
        length = rng.choice(OVER_LENGTHS)
        if len(waiting) < length:
            waiting += rng.sample(sounds, len(sounds))
        chosen, waiting = waiting[:length], waiting[length:]
        clip = Clip(samples=_joined([sound for _, sound in chosen], rng), rate_hz=WORDS_RATE_HZ)
        conditions = Conditions(snr_db=rng.choice(SNRS_DB))
        received = simulate(clip, conditions, rng.getrandbits(32)).clip
        yield tuple(word for word, _ in chosen), received


def _joined(sounds: Sequence[Samples], rng: Random) -> Samples:
    """Return the sounds one after another, with a pause before each."""
    noise = np.random.default_rng(rng.getrandbits(32))
    parts: list[Samples] = []
    for sound in sounds:
        length = round(rng.uniform(*PAUSES_S) * WORDS_RATE_HZ)
        parts += [noise.normal(0, ROOM_NOISE, length).astype(np.float32), sound]
    return np.concatenate(parts)


def _copied(take: Recordings, recogniser: OwnRecogniser, grammar: Grammar) -> int:
    """Return how many words of a take are copied, each alone and without noise."""
    right = 0
    for number, (word, clip) in enumerate(take.items()):
        heard = recogniser.recognise(simulate(clip, Conditions(snr_db=None), number).clip, grammar)
        right += [unit.say for unit in heard] == [word]
    return right
