"""Lets the recogniser learn a voice from word banks, and describes the gain."""

from collections.abc import Sequence
from dataclasses import dataclass

from drill.core.audio_files import read_audio
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.recogniser.language import character_grammar
from drill.recogniser.own.enrolment import Enrolment, enrol_voice
from drill.recogniser.own.model import load_model
from drill.sending.enrolled_voices import keep_voice
from drill.sending.own_station import SettingStore
from drill.voices.wordbank.storage import bank_names, load_bank


@dataclass(frozen=True, kw_only=True, slots=True)
class LearntVoice:
    """Result of learning a voice. kept: False if the recogniser copies less with the voice."""

    name: str
    kept: bool
    says: tuple[str, ...]


def enrol_banks(store: SettingStore, names: Sequence[str]) -> LearntVoice:
    """Learn a voice; keep and use it unless the recogniser copies less with it.

    names: word banks of one speaker, at least one; the first one names the voice.
    Raises: UserError if a bank is missing or has too few words; NoRecogniser.
    """
    takes = [_recordings(name) for name in names]
    result = enrol_voice(takes, load_model(), character_grammar(alternates=True))
    kept = result.after >= result.before
    if kept:
        keep_voice(store, names[0], result.adaptation)
    return LearntVoice(name=names[0], kept=kept, says=_sentences(result, names))


def _recordings(name: str) -> dict[str, Clip]:
    """Return the recordings of a word bank. Raises: UserError if there is no such bank."""
    bank = load_bank(name)
    if bank is None:
        names = ", ".join(bank_names()) or "none"
        raise UserError(f"there is no word bank {name!r}; there are: {names}")
    return {word: read_audio(bank.path(word)) for word in bank.words}


def _sentences(result: Enrolment, names: Sequence[str]) -> tuple[str, ...]:
    if not result.words:
        return (
            "With one recording of each word, the gain cannot be tested. Record the words again, "
            f"as {names[0]}-2, and learn both.",
        )
    return (
        f"Of {plural(result.words, 'word')} in {names[-1]}, {result.before} were copied without "
        f"noise before, and {result.after} after learning the other recordings.",
    )
