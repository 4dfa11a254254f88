"""The word-bank voice: recordings of single words, joined.

What a speaker recorded (faintcall record-words) is said with pauses between the words; pace moves
the pauses and nothing else. Joined words are understood less well than speech in one go, and yet it
is a person. Its speech is made in no time and is never cached: a bank that is deleted is gone.
"""

import hashlib
from collections.abc import Sequence
from contextlib import suppress
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np

from drill.core import audio_files
from drill.core.errors import NoVoice, UserError
from drill.core.models import Clip, Operator, Samples
from drill.voices.effects.finish import Span, finish
from drill.voices.people.roster import BANK_PREFIX
from drill.voices.wordbank import folder
from drill.voices.wordbank.cut import LEAD_S, RATE_HZ, TAIL_S
from drill.voices.wordbank.folder import Bank
from drill.voices.wordbank.words import essential, parts_of
from phonetics.message import Word
from phonetics.rewording import reword

USUAL_PITCH_HZ = 120.0  # of an operator whose pitch is the voice's own
# From the end of a word to the start of the next, at pace 1; common practice, no source.
GAPS_S = {"": 0.12, ",": 0.32, ".": 0.5}
PART_GAP_S = 0.0  # between twenty and six
UNEVEN = 0.15  # no speaker is a clock: gaps differ by so much, by the seed


class BankVoice:
    """The engine of word banks; safe in threads, nothing is kept but what was read."""

    name = "bank"
    repeatable = True
    cached = False

    @property
    def version(self) -> str:
        """Return a digest of what all banks hold."""
        digest = hashlib.sha256()
        for name in folder.names():
            with suppress(OSError):  # it has been deleted meanwhile
                digest.update((folder.banks_folder() / name / folder.FILE).read_bytes())
        return f"1 {digest.hexdigest()[:16]}"

    def problem(self) -> str:
        """Return "" where there is a bank, else one sentence with the remedy."""
        if folder.names():
            return ""
        return "there is no word bank yet; record one with: faintcall record-words NAME"

    def say(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return a whole over, 24 kHz; pitch, tract, breath and melody are the speaker's own.

        Raises: NoVoice naming the word that the bank lacks and the command that records it;
        UserError where an accent is asked for.
        """
        if operator.accent:
            raise UserError(f"no accent {operator.accent!r} of a word bank; there is none")
        bank = _need(operator.voice)
        chance = np.random.default_rng(seed % 2**63)
        sounds: list[Samples] = []
        gaps_s: list[float] = []
        spans_of: list[int] = []  # which of the words each sound belongs to
        for place, word in enumerate(words):
            parts = _takes(bank, word.say)
            sounds += parts
            spans_of += [place] * len(parts)
            gap_s = GAPS_S[word.pause] / operator.pace * (1 + UNEVEN * chance.uniform(-1, 1))
            gaps_s += [PART_GAP_S] * (len(parts) - 1) + [gap_s]
        joined, times = _join(sounds, gaps_s)
        spans = _spans(words, spans_of, times)
        return finish(joined, RATE_HZ, spans)


def bank_operator(name: str) -> Operator:
    """Return the operator of a word bank by its name, such as bank-mine.

    Whether there is such a bank is found out by the engine: records of a bank that was deleted
    stay readable. Raises: UserError where it is no name for a bank.
    """
    voice = name.removeprefix(BANK_PREFIX)
    folder.check_name(voice)
    return Operator(name=BANK_PREFIX + voice, engine="bank", voice=voice, pitch_hz=USUAL_PITCH_HZ)


def bank_operators() -> tuple[Operator, ...]:
    """Return an operator for every word bank there is."""
    return tuple(bank_operator(BANK_PREFIX + name) for name in folder.names())


def lacking(words: Sequence[Word], operator: Operator) -> tuple[str, ...]:
    """Return the words that the operator's bank has not, each once; none for other engines.

    Raises: NoVoice where there is no such bank; UserError where it cannot be read.
    """
    if operator.engine != BankVoice.name:
        return ()
    bank = _need(operator.voice)
    return tuple(dict.fromkeys(word.say for word in words if not bank.says(word.say)))


def reworded(words: Sequence[Word], operator: Operator) -> tuple[Word, ...]:
    """Return the words as the operator can say them: see phonetics.rewording.

    For other engines than this one they stay. Raises: as lacking.
    """
    lack = lacking(words, operator)
    if not lack:
        return tuple(words)
    return reword(words, {word.say for word in words} - set(lack))


def check_ready(operator: Operator) -> None:
    """Check that a bank can say all that is to be copied, before a sitting begins.

    Raises: UserError naming what is lacking and the command that records it.
    """
    if operator.engine != BankVoice.name:
        return
    bank = folder.load(operator.voice)
    if bank is None:
        there = ", ".join(each.name for each in bank_operators()) or "none"
        raise UserError(
            f"no word bank {operator.name!r}; there are: {there}; "
            "record one with: faintcall record-words NAME"
        )
    lack = [word for word in essential() if word not in bank.words]
    if lack:
        some = ", ".join(lack[:5]) + (", ..." if lack[5:] else "")
        raise UserError(
            f"word bank {operator.voice!r} lacks {len(lack)} of the {len(essential())} words that "
            f"every voice needs ({some}); "
            f"record them with: faintcall record-words {operator.voice}"
        )


def _need(name: str) -> Bank:
    """Return a bank. Raises: NoVoice where there is none of that name."""
    bank = folder.load(name)
    if bank is None:
        raise NoVoice(
            f"word bank {name!r} is not on this machine; "
            f"record one with: faintcall record-words {name}, or choose other operators"
        )
    return bank


def _takes(bank: Bank, say: str) -> list[Samples]:
    """Return the recordings that make up a word. Raises: NoVoice naming what is lacking."""
    return [_sound(bank, word) for word in ((say,) if say in bank.words else parts_of(say))]


def _sound(bank: Bank, word: str) -> Samples:
    if word not in bank.words:
        raise NoVoice(
            f"word bank {bank.name!r} has no word {word!r}; "
            f"record it with: faintcall record-words {bank.name} --only {word}"
        )
    try:
        return _read(bank.path(word))
    except UserError as error:
        raise NoVoice(
            f"{error}; record it again with: faintcall record-words {bank.name} --only {word}"
        ) from None


@lru_cache(maxsize=128)
def _read(path: Path) -> Samples:
    """Return what a file holds; its name holds the digest of it, so it never changes.

    Raises: UserError where it cannot be read or is not as it was kept.
    """
    clip = audio_files.read(path)
    if clip.rate_hz != RATE_HZ or clip.seconds <= LEAD_S + TAIL_S:
        raise UserError(f"{path} is not as it was kept")
    return clip.samples


def _join(sounds: Sequence[Samples], gaps_s: Sequence[float]) -> tuple[Samples, list[Span]]:
    """Return the sounds one after the other, and when each begins and ends to sound.

    gaps_s: silence after each. The leads and tails of the recordings lie in the gaps, over each
    other where a gap is shorter than both: they are ramped and hold the room alone.
    """
    lead, tail = round(LEAD_S * RATE_HZ), round(TAIL_S * RATE_HZ)
    starts = [0]
    for sound, gap_s in zip(sounds, gaps_s, strict=True):
        starts.append(starts[-1] + len(sound) - lead - tail + round(gap_s * RATE_HZ))
    joined = np.zeros(starts[-2] + len(sounds[-1]), np.float32)
    spans = []
    for sound, start in zip(sounds, starts, strict=False):
        joined[start : start + len(sound)] += sound
        begin, end = start + lead, start + len(sound) - tail
        spans.append(("", begin / RATE_HZ, end / RATE_HZ))
    return joined, spans


def _spans(words: Sequence[Word], owner: Sequence[int], times: Sequence[Span]) -> list[Span]:
    """Return the span of every word, from the first to the last of its parts."""
    firsts = [place for place, (a, b) in enumerate(pairwise([-1, *owner])) if a != b]
    lasts = [*(place - 1 for place in firsts[1:]), len(owner) - 1]
    return [
        (word.say, times[first][1], times[last][2])
        for word, first, last in zip(words, firsts, lasts, strict=True)
    ]
