"""Sounds and other things that can be made again, kept in memory up to a bound."""

import secrets
import threading
from collections import OrderedDict

from drill.core.audio_files import wav_bytes
from drill.core.models import Clip

MOST_BYTES = 48 * 1024 * 1024


class Sounds:
    """Sounds by names that nobody can guess; the oldest go first where there are too many."""

    def __init__(self, most_bytes: int = MOST_BYTES) -> None:
        """Begin empty."""
        self._kept: OrderedDict[str, bytes] = OrderedDict()
        self._most_bytes = most_bytes
        self._lock = threading.Lock()

    def keep(self, clip: Clip) -> str:
        """Keep a sound and return the address that it is fetched from."""
        name, data = secrets.token_urlsafe(12), wav_bytes(clip)
        with self._lock:
            self._kept[name] = data
            while sum(map(len, self._kept.values())) > self._most_bytes and len(self._kept) > 1:
                self._kept.popitem(last=False)
        return f"/api/sounds/{name}.wav"

    def find(self, name: str) -> bytes | None:
        """Return a sound, None where it is gone."""
        with self._lock:
            return self._kept.get(name)
