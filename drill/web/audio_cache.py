"""Rendered sounds in memory, up to a size limit. All of them can be rendered again."""

import secrets
import threading
from collections import OrderedDict

from drill.core.audio_files import wav_bytes
from drill.core.models import Clip

MAX_CACHE_BYTES = 48 * 1024 * 1024


class AudioCache:
    """WAV files under random names; the oldest are dropped when the size limit is exceeded."""

    def __init__(self, max_bytes: int = MAX_CACHE_BYTES) -> None:
        """Start empty. max_bytes: limit for all files together; the newest file always stays."""
        self._files: OrderedDict[str, bytes] = OrderedDict()
        self._max_bytes = max_bytes
        self._lock = threading.Lock()

    def add(self, clip: Clip) -> str:
        """Store a clip as a WAV file; return the URL path that serves it."""
        name, data = secrets.token_urlsafe(12), wav_bytes(clip)
        with self._lock:
            self._files[name] = data
            while sum(map(len, self._files.values())) > self._max_bytes and len(self._files) > 1:
                self._files.popitem(last=False)
        return f"/api/sounds/{name}.wav"

    def get(self, name: str) -> bytes | None:
        """Return a WAV file, None if it was dropped or never existed."""
        with self._lock:
            return self._files.get(name)
