"""The nouns of the sending drill: what is to be said, what was heard, what it tells. All frozen."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from drill.core.models import Clip
from phonetics.message import Field, Word

FAULT, ADVICE, UNSURE = "fault", "advice", "not sure"
CAME = frozenset({"right", "form", "again", "order", "corrected"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Prompt:
    """What the trainee is to say.

    kind: a key of drill.sending.prompts.KINDS. says: the sentence that asks for it. call: the
    trainee's own. exchange: name of the exchange, "" where none is sent. opening: words of which
    one is to come first ("negative"), empty for none. fields: what is to be sent, in order.
    words: the same as it would be said by the ITU's words, figure by figure.
    """

    kind: str
    seed: int
    says: str
    call: str
    exchange: str
    fields: tuple[Field, ...]
    words: tuple[Word, ...]
    opening: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """Return what is to be sent, as one would write it."""
        return " ".join(field.text for field in self.fields)

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON; from_dict gives the prompt back."""
        return asdict(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Prompt":
        """Return the prompt that to_dict wrote. Raises: KeyError, TypeError for other data."""
        return cls(
            **{
                **data,
                "fields": tuple(Field(**field) for field in data["fields"]),
                "words": tuple(Word(**word) for word in data["words"]),
                "opening": tuple(data["opening"]),
            }
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Take:
    """One recording of the trainee: the prompt that it answers, and the sound as it came."""

    prompt: Prompt
    clip: Clip


@dataclass(frozen=True, kw_only=True, slots=True)
class Heard:
    """One word of a take and its place in what was wanted.

    say: the word heard, "" where a wanted one was not. wanted: the word that was to come there, ""
    where none was. kind: right, form (another word or way of saying figures that means the same),
    wrong, missing, extra, order, again (said once more), corrected (wrong, and put right by the
    trainee), filler or procedure. start_s, end_s: in the take; confidence: 0 to 1, of the listener.
    sure: False where the listener's two passes differ, or its confidence is low.
    """

    say: str
    wanted: str
    means: str
    field: str
    kind: str
    start_s: float = 0.0
    end_s: float = 0.0
    confidence: float = 0.0
    sure: bool = True


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """One thing that a take shows.

    name: a key of drill.sending.limits.LIMITS, or wrong, missing, extra, order, form, again,
    corrected, filler, unsure, unclear, nothing. weight: FAULT, ADVICE or UNSURE.
    says: what it is; remedy: what to do about it; both sentences. about: the characters, words or
    fields that it concerns. figure, unit: where it was measured.
    """

    name: str
    weight: str
    says: str
    remedy: str
    about: tuple[str, ...] = ()
    figure: float | None = None
    unit: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Sound:
    """What was measured of a take's sound.

    level_db: active level, ITU-T P.56, a full-scale square wave 0. peak_db: highest sample against
    full scale. clipped: share of samples in flat tops. noise_db: voice against what remains between
    the words, None where no quiet part is long enough. hum_db: mains hum against the voice, None
    where none stands out; mains_hz: 50 or 60, 0 without hum. balance_db: 1500 to 2700 Hz against
    300 to 800 Hz. passed: share of the power from 80 Hz on that an SSB channel of 300 to 2700 Hz
    passes.
    """

    seconds: float
    level_db: float
    peak_db: float
    clipped: float
    noise_db: float | None
    hum_db: float | None
    mains_hz: float
    balance_db: float
    passed: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Review:
    """What a take shows: its words, pace and sound, and what to do about them.

    right: True where every wanted field was said rightly in the end. pace_wpm: words a minute from
    the first to the last, 0 for fewer than two; syllables_s: syllables a second; longest_pause_s:
    between two words. listener: name and version.
    """

    right: bool
    sure: bool
    heard: tuple[Heard, ...]
    findings: tuple[Finding, ...]
    pace_wpm: float
    syllables_s: float
    longest_pause_s: float
    sound: Sound
    listener: str

    @property
    def came(self) -> float:
        """Return the share of the wanted words that came, 0 to 1, sure or not."""
        wanted = [one for one in self.heard if one.wanted]
        return sum(one.kind in CAME for one in wanted) / len(wanted) if wanted else 0.0

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON; from_dict gives the review back."""
        return asdict(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Review":
        """Return the review that to_dict wrote. Raises: KeyError, TypeError for other data."""
        return cls(
            **{
                **data,
                "heard": tuple(Heard(**word) for word in data["heard"]),
                "findings": tuple(
                    Finding(**{**found, "about": tuple(found["about"])})
                    for found in data["findings"]
                ),
                "sound": Sound(**data["sound"]),
            }
        )
