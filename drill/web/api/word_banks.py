"""/api/word-banks: a voice of one's own, recorded word by word with the browser's microphone.

Each word is saved as soon as its recording is good enough, so a page that is closed loses nothing.
The recordings stay in the user's folder; a bank needs the consent of its speaker.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from drill.core import audio_files
from drill.core.errors import UserError
from drill.core.validation import checked_entries, checked_flag, checked_text, one_of, shown, within
from drill.voices.wordbank.background import measure_background
from drill.voices.wordbank.bank_operators import BANK_PREFIX
from drill.voices.wordbank.cut import cut_word
from drill.voices.wordbank.storage import (
    Consent,
    WordBank,
    bank_names,
    banks_folder,
    create_bank,
    delete_bank,
    load_bank,
    save_word,
)
from drill.voices.wordbank.wording import (
    as_sentence,
    background_sentence,
    completeness_text,
    fault_text,
    measurements_text,
)
from drill.voices.wordbank.words import essential_words, word_groups
from drill.web.database import NotFoundError
from drill.web.request_fields import short_text

LONGEST_TAKE_S = 6.0
"""The page ends a take after 5 s."""
NOISE_RANGE_DB = (-120.0, 0.0)


def word_banks_json() -> dict[str, Any]:
    """Return the folder of all banks, and each bank with its speaker and its completeness."""
    banks = [bank for name in bank_names() if (bank := load_bank(name)) is not None]
    return {"folder": str(banks_folder()), "banks": [_bank_row(bank) for bank in banks]}


def create_word_bank(data: Mapping[str, Any]) -> dict[str, Any]:
    """Create an empty bank; return it as word_bank_json does.

    data: "name" of the bank, "speaker", and "consent", which has to be true. Raises: UserError.
    """
    entries = checked_entries(
        data,
        {"name": short_text, "speaker": short_text, "consent": checked_flag},
        required=["name", "speaker"],
    )
    if not entries.get("consent"):
        raise UserError(
            "Nothing is recorded without the speaker's consent. Ask, and then tick the box.",
            field="consent",
        )
    now = datetime.now(UTC).isoformat(timespec="seconds")
    speaker = entries["speaker"].strip()
    return _bank_json(create_bank(entries["name"].strip(), Consent(speaker=speaker, at=now)))


def word_bank_json(name: str) -> dict[str, Any]:
    """Return a bank as data for JSON: its row, and "groups" of words.

    Each group has "title", "optional" and "words"; each word has "word" and "recorded".
    Raises: NotFoundError, UserError.
    """
    return _bank_json(_existing_bank(name))


def measure_room(data: bytes) -> dict[str, Any]:
    """Return "says" and "noise_db" of a recording without speech, a WAV or FLAC file.

    Raises: UserError if it is too short or not a sound file.
    """
    clip = audio_files.read_audio_bytes(data, longest_s=LONGEST_TAKE_S)
    noise = measure_background(clip.samples, clip.rate_hz)
    return {
        "says": background_sentence(noise),
        "noise_db": round(noise.level_db, 1),
        "rating": noise.rating.value,
    }


def record_word(query: Mapping[str, str], data: bytes) -> dict[str, Any]:
    """Save a recorded word if it has no faults; return what was measured.

    query: "bank"; "word"; "noise_db", the level of the room in dB; "keep", "yes" to save it in
    spite of its faults. data: a WAV or FLAC file. The result has "saved", "says" (the
    measurements), "faults" (sentences), and "bank", the row of the bank.
    Raises: NotFoundError, UserError if there is no word in the recording.
    """
    entries = checked_entries(
        query,
        {"bank": short_text, "word": checked_word, "noise_db": checked_level, "keep": short_text},
        required=["bank", "word"],
    )
    bank = _existing_bank(entries["bank"])
    clip = audio_files.read_audio_bytes(data, longest_s=LONGEST_TAKE_S)
    recording = cut_word(clip.samples, clip.rate_hz, noise_db=entries.get("noise_db"))
    saved = not recording.faults or entries.get("keep") == "yes"
    if saved:
        bank = save_word(bank, entries["word"], recording.samples, recording.seconds)
    return {
        "saved": saved,
        "says": as_sentence(measurements_text(recording)),
        "faults": [as_sentence(fault_text(fault, recording)) for fault in recording.faults],
        "bank": _bank_row(bank),
    }


def recorded_word(name: str, word: str) -> bytes:
    """Return a saved word as a WAV file. Raises: NotFoundError, UserError."""
    bank = _existing_bank(name)
    if word not in bank.words:
        raise NotFoundError(f"the bank {name} has no recording of {shown(word)}")
    return audio_files.wav_bytes(audio_files.read_audio(bank.path(word)))


def delete_word_bank(name: str) -> dict[str, Any]:
    """Delete a bank with its recordings; return word_banks_json.

    Raises: NotFoundError, UserError.
    """
    delete_bank(_existing_bank(name))
    return word_banks_json()


def checked_word(field: str, value: Any) -> str:
    """Return a word that an over can contain. Raises: UserError."""
    word = checked_text(field, value, longest=30)
    known = {word for group in word_groups() for word in group.words}
    return word if word in known else one_of(field, word, essential_words())


def checked_level(field: str, value: Any) -> float:
    """Return the level of the room, in dB re full scale, from a query. Raises: UserError."""
    text = short_text(field, value)
    try:
        level_db = float(text)
    except ValueError:
        raise UserError(f"{field} {shown(text)} is not a number", field=field) from None
    return within(field, level_db, *NOISE_RANGE_DB, "dB")


def _existing_bank(name: str) -> WordBank:
    bank = load_bank(name)
    if bank is None:
        raise NotFoundError(f"there is no word bank {shown(name)}")
    return bank


def _bank_row(bank: WordBank) -> dict[str, Any]:
    essential = essential_words()
    return {
        "name": bank.name,
        "speaker": bank.consent.speaker,
        "consent_at": bank.consent.at,
        "says": as_sentence(completeness_text(bank)),
        "usable": all(word in bank.words for word in essential),
        "operator": f"{BANK_PREFIX}{bank.name}",
        "folder": str(bank.folder),
    }


def _bank_json(bank: WordBank) -> dict[str, Any]:
    groups = [
        {
            "title": group.title,
            "optional": group.optional,
            "words": [{"word": word, "recorded": word in bank.words} for word in group.words],
        }
        for group in word_groups()
    ]
    return {**_bank_row(bank), "groups": groups}
