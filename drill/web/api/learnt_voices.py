"""/api/learnt-voices: let the recogniser of the sending drill learn a voice from its recordings.

It learns in a thread, in less than a minute on an ordinary computer.
"""

import threading
from collections.abc import Generator, Mapping
from typing import Any

from drill.core.errors import UserError
from drill.core.validation import checked_entries, shown
from drill.sending.enrol_banks import enrol_banks
from drill.sending.enrolled_voices import (
    NO_VOICE,
    delete_voice,
    enrolled_names,
    use_voice,
    used_voice,
)
from drill.voices.wordbank.storage import bank_names, load_bank
from drill.web.background_work import BackgroundWork
from drill.web.database import NotFoundError, open_record
from drill.web.request_fields import short_text

MAX_TAKES_OF_A_VOICE = 3
_NOT_KEPT = "The recogniser copies less with the learnt voice, so the voice is not kept."


class LearntVoicesApi:
    """The learnt voices; at most one voice is being learnt."""

    def __init__(self) -> None:
        """Start without work."""
        self._work = BackgroundWork()
        self._lock = threading.Lock()
        self._says: tuple[str, ...] = ()

    def state(self) -> dict[str, Any]:
        """Return "names", "used" (one of them or NO_VOICE), "progress", and "says" (sentences)."""
        with open_record() as store:
            used = used_voice(store) or NO_VOICE
        with self._lock:
            says = list(self._says)
        return {
            "names": list(enrolled_names()),
            "used": used,
            "progress": self._work.progress(),
            "says": says,
        }

    def learn(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Begin to learn a voice from all banks of its speaker; return the state.

        data: "name" of the bank that names the voice. Raises: NotFoundError; UserError if another
        voice is being learnt.
        """
        banks = banks_of_speaker(_checked_name(data))
        if not self._work.start(banks[0], 1, self._learn(banks)):
            raise UserError("a voice is being learnt; wait until that has ended")
        return self.state()

    def use(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Use a learnt voice, or NO_VOICE; return the state. data: "name". Raises: UserError."""
        with open_record() as store:
            use_voice(store, _checked_name(data))
        return self.state()

    def forget(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Delete a learnt voice; return the state. data: "name". Raises: UserError."""
        with open_record() as store:
            delete_voice(store, _checked_name(data))
        return self.state()

    def _learn(self, banks: tuple[str, ...]) -> Generator[int, None, None]:
        with open_record() as store:
            learnt = enrol_banks(store, banks)
        with self._lock:
            self._says = (*learnt.says, *(() if learnt.kept else (_NOT_KEPT,)))
        yield 1


def banks_of_speaker(name: str) -> tuple[str, ...]:
    """Return a bank and the other banks of its speaker, at most MAX_TAKES_OF_A_VOICE.

    Raises: NotFoundError, UserError.
    """
    bank = load_bank(name)
    if bank is None:
        raise NotFoundError(f"there is no word bank {shown(name)}")
    speaker = bank.consent.speaker
    others = [
        other.name
        for other_name in bank_names()
        if other_name != name and (other := load_bank(other_name)) is not None
        if other.consent.speaker == speaker
    ]
    return (name, *others)[:MAX_TAKES_OF_A_VOICE]


def _checked_name(data: Mapping[str, Any]) -> str:
    name: str = checked_entries(data, {"name": short_text}, required=["name"])["name"]
    return name
