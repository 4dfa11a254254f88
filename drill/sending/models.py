"""The frozen values of the sending drill: prompt, take, reviewed word, finding, review.

`to_data` of drill.core.structuring writes prompts and reviews for the record; drill.sending.history
reads them. The record keeps the key names of version 0.2.0: STORED_NAMES lists the fields that have
since been renamed.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Literal

from drill.core.models import Clip
from phonetics.message import Field, Word

FAULT, ADVICE, UNSURE = "fault", "advice", "not sure"
"""Severities of findings."""
WordResult = Literal[
    "right", "form", "wrong", "missing", "extra", "order", "again", "corrected", "filler",
    "procedure",
]  # fmt: skip
DELIVERED_RESULTS = frozenset({"right", "form", "again", "order", "corrected"})
"""Results of an expected word that was spoken, in any order."""
ERROR_RESULTS = ("wrong", "missing", "extra", "order")


@dataclass(frozen=True, kw_only=True, slots=True)
class Prompt:
    """A prompt: the words that the trainee is asked to say.

    kind: a key of drill.sending.prompts.PROMPT_KINDS. call: the trainee's own call. exchange: name
    of the exchange, "" if none is sent. fields: the fields to send, in order. words: the fields in
    the ITU's code words, digit by digit. opening: words, one of which has to come first
    ("negative"); empty for none. misheard: the trainee's call as the other station misheard it, ""
    in other prompts.
    """

    kind: str
    seed: int
    call: str
    exchange: str
    fields: tuple[Field, ...]
    words: tuple[Word, ...]
    opening: tuple[str, ...] = ()
    misheard: str = ""

    @property
    def text(self) -> str:
        """The fields to send, as text."""
        return " ".join(field.text for field in self.fields)


@dataclass(frozen=True, kw_only=True, eq=False)
class Take:
    """One recording of the trainee, and the prompt that it answers."""

    prompt: Prompt
    clip: Clip


@dataclass(frozen=True, kw_only=True, slots=True)
class ReviewedWord:
    """One word of a take, or a missing word, and how it fits the prompt.

    spoken: the recognised word, "" for a missing one. expected: the word that belongs there, "" if
    none does. means: the characters that it represents. field: name of the field. result: right;
    form (another word or another way to say a number, with the same meaning); wrong; missing;
    extra; order (two neighbours the wrong way round); again (said once more); corrected (wrong at
    first and then corrected by the trainee); filler; procedure. start_s, end_s: times in the take.
    confidence: 0 to 1, that of the recogniser. sure: False if the two passes of the recogniser
    differ or its confidence is low.
    """

    STORED_NAMES: ClassVar[Mapping[str, str]] = {
        "spoken": "say",
        "expected": "wanted",
        "result": "kind",
    }

    spoken: str
    expected: str
    means: str
    field: str
    result: WordResult
    start_s: float = 0.0
    end_s: float = 0.0
    confidence: float = 0.0
    sure: bool = True


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """One finding of a review; drill.sending.describe words it.

    kind: a key of drill.sending.limits.FIGURE_LIMITS for a measured figure. For words: wrong,
    missing, extra, order (errors); unsure (a possible error); form, again, corrected, filler
    (habits); unclear (right, but recognised with little confidence); nothing (no word was
    recognised). severity: FAULT, ADVICE or UNSURE. about: the characters or words that it concerns;
    findings with equal kind and about are the same finding of two takes. words: the reviewed words.
    figure, unit: the measurement; None and "" for findings about words.
    """

    STORED_NAMES: ClassVar[Mapping[str, str]] = {"kind": "name", "severity": "weight"}

    kind: str
    severity: str
    about: tuple[str, ...] = ()
    words: tuple[ReviewedWord, ...] = ()
    figure: float | None = None
    unit: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class SoundQuality:
    """Measurements of the sound of a take. Levels are as in drill.radio.levels.

    level_db: active speech level by ITU-T P.56, re a full-scale square wave. peak_db: highest
    sample re full scale. clipped_share: share of samples in flat tops. speech_to_noise_db: speech
    above the noise between the words, None if no quiet part is long enough. hum_to_speech_db:
    mains hum relative to speech, None if there is none. mains_hz: 50 or 60, 0 without hum.
    treble_to_bass_db: 1500 to 2700 Hz relative to 300 to 800 Hz. passband_share: share of the
    power above 80 Hz that is within the SSB passband, 300 to 2700 Hz.
    """

    STORED_NAMES: ClassVar[Mapping[str, str]] = {
        "clipped_share": "clipped",
        "speech_to_noise_db": "noise_db",
        "hum_to_speech_db": "hum_db",
        "treble_to_bass_db": "balance_db",
        "passband_share": "passed",
    }

    seconds: float
    level_db: float
    peak_db: float
    clipped_share: float
    speech_to_noise_db: float | None
    hum_to_speech_db: float | None
    mains_hz: float
    treble_to_bass_db: float
    passband_share: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Review:
    """The review of a take: its words, its speaking rate, its sound, and the findings.

    right: True if every expected field was said correctly in the end. sure: False if the
    recogniser is unsure about a word. pace_wpm: words per minute from the first to the last, 0 for
    fewer than two. syllables_per_s: speaking rate. longest_pause_s: between two words. recogniser:
    its name and version.
    """

    STORED_NAMES: ClassVar[Mapping[str, str]] = {
        "words": "heard",
        "syllables_per_s": "syllables_s",
        "recogniser": "listener",
    }

    right: bool
    sure: bool
    words: tuple[ReviewedWord, ...]
    findings: tuple[Finding, ...]
    pace_wpm: float
    syllables_per_s: float
    longest_pause_s: float
    sound: SoundQuality
    recogniser: str

    @property
    def delivered_share(self) -> float:
        """Share of the expected words that were spoken, 0 to 1, certain or not."""
        expected = [word for word in self.words if word.expected]
        if not expected:
            return 0.0
        return sum(word.result in DELIVERED_RESULTS for word in expected) / len(expected)
