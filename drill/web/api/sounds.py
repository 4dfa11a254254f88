"""/api/sounds: audio that was rendered for the page."""

from drill.web.audio_cache import AudioCache
from drill.web.database import NotFoundError


def cached_sound(sounds: AudioCache, name: str) -> bytes:
    """Return a WAV file from the cache.

    Raises: NotFoundError if the cache has dropped it or never had it.
    """
    wav = sounds.get(name)
    if wav is None:
        raise NotFoundError("this sound is no longer available; render it again")
    return wav
