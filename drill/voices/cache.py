"""Cache of synthesised speech on disk.

Each file holds one clip: a line of JSON (sample rate, words, digest), then the samples as 16-bit
little-endian integers. A file is complete or absent, and a deleted file is synthesised again, so
processes can share the folder without a lock. `get` always returns the content of the file, even if
it has just been written, so that a hit and a miss give the same samples.
"""

import contextlib
import hashlib
import json
import os
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

import numpy as np

from drill.core.models import Clip, Operator, WordTime
from drill.voices.people.styles import vocal_style_of
from drill.voices.people.ways import with_ways_for
from phonetics.message import Word

EFFECTS_VERSION = 1
"""Increase this when a change in drill/voices/effects or people/styles.py changes the samples."""
_CLIP_SUFFIX = ".speech"
_UNFINISHED_SUFFIX = ".unfinished"
_ABANDONED_AFTER_S = 600  # the process that wrote an unfinished file this old was killed
_FULL_SCALE = 32767
_LIMIT_BYTES = 200_000_000
_SHARE_KEPT = 0.9  # share of the limit after a sweep, so that not every new clip needs a sweep


def cache_key(words: Sequence[Word], operator: Operator, seed: int, *, engine_version: str) -> str:
    """Return the file name of a clip: a digest of everything that determines its samples.

    Those are the words and pauses, the operator without its name and without its ways of saying
    other words, the values of its vocal style, the seed, the version of the engine and that of the
    effects. Other source code has no influence.

    Raises: UserError if the operator's vocal style is unknown.
    """
    operator_values = _without(asdict(with_ways_for(operator, words)), "name", "hard")
    if not operator_values["ways"]:
        del operator_values["ways"]  # as in version 0.3.0, whose operators had none
    style_values = _without(asdict(vocal_style_of(operator)), "description", "source")
    decisive = [
        EFFECTS_VERSION,
        engine_version,
        [(word.say, word.pause) for word in words],
        operator_values,
        style_values,
        seed,
    ]
    return hashlib.sha256(json.dumps(decisive, sort_keys=True).encode()).hexdigest()


def _without(values: dict[str, object], *names: str) -> dict[str, object]:
    return {name: value for name, value in values.items() if name not in names}


def encode_clip(clip: Clip) -> bytes:
    """Return the content of a clip's file."""
    samples = np.round(clip.samples * _FULL_SCALE).astype("<i2").tobytes()
    words = [[word.say, word.start_s, word.end_s] for word in clip.words]
    head = {"rate_hz": clip.rate_hz, "words": words}
    return json.dumps({**head, "digest": _digest(head, samples)}).encode() + b"\n" + samples


def decode_clip(content: bytes) -> Clip:
    """Return the clip of a file's content.

    Raises: ValueError, KeyError or TypeError if the content is damaged.
    """
    line, _, sound = content.partition(b"\n")
    head = dict(json.loads(line))
    if head.pop("digest") != _digest(head, sound):
        raise ValueError("the digest does not match the content")
    samples = np.frombuffer(sound, "<i2").astype(np.float32) / np.float32(_FULL_SCALE)
    words = tuple(WordTime(say=say, start_s=a, end_s=b) for say, a, b in head["words"])
    return Clip(samples=samples, rate_hz=head["rate_hz"], words=words)


def _digest(head: dict[str, object], samples: bytes) -> str:
    return hashlib.sha256(json.dumps(head, sort_keys=True).encode() + samples).hexdigest()


@dataclass(frozen=True, kw_only=True, slots=True)
class _CacheFile:
    """A file of the cache as last seen; used_s: time of its last use, seconds since the epoch."""

    used_s: float
    size: int
    path: Path


class SpeechCache:
    """A folder of clips of at most about limit_bytes; the least recently used are deleted first.

    If the folder cannot be read or written, every clip is synthesised again.
    """

    def __init__(self, folder: Path, limit_bytes: int = _LIMIT_BYTES) -> None:
        """Store the arguments; the folder is not read or created until a clip is needed."""
        self.folder = folder
        self.limit_bytes = limit_bytes
        # Bytes written since the last sweep. Starting at the limit makes the first write sweep.
        self._unswept = limit_bytes

    def get(self, key: str, synthesise: Callable[[], Clip]) -> Clip:
        """Return the clip with this key; synthesise and store it if it is absent or damaged."""
        clip = self.find(key)
        if clip is not None:
            return clip
        content = encode_clip(synthesise())
        self._write(self._path(key), content)
        return decode_clip(content)

    def find(self, key: str) -> Clip | None:
        """Return the clip with this key, None if it is absent or damaged."""
        path = self._path(key)
        try:
            clip = decode_clip(path.read_bytes())
        except (OSError, ValueError, KeyError, TypeError):
            return None
        with contextlib.suppress(OSError):
            os.utime(path)  # marks the file as recently used
        return clip

    def size(self) -> tuple[int, int]:
        """Return the number of clips and the size in bytes of all files."""
        files = list(self._files())
        clips = sum(file.path.suffix == _CLIP_SUFFIX for file in files)
        return clips, sum(file.size for file in files)

    def clear(self) -> tuple[int, int]:
        """Delete the cache's own files; return their number and their size in bytes."""
        deleted = [file for file in self._files() if _delete(file.path)]
        return len(deleted), sum(file.size for file in deleted)

    def _path(self, key: str) -> Path:
        return self.folder / f"{key}{_CLIP_SUFFIX}"

    def _files(self) -> Iterator[_CacheFile]:
        """Yield the cache's own files, unfinished ones included."""
        suffixes = (_CLIP_SUFFIX, _UNFINISHED_SUFFIX)
        try:
            paths = [path for path in self.folder.iterdir() if path.suffix in suffixes]
        except OSError:
            return
        for path in paths:
            with contextlib.suppress(OSError):  # another process deleted it
                status = path.stat()
                yield _CacheFile(used_s=status.st_mtime, size=status.st_size, path=path)

    def _write(self, path: Path, content: bytes) -> None:
        """Write a file so that other processes see either all of it or nothing."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            handle, temporary = tempfile.mkstemp(suffix=_UNFINISHED_SUFFIX, dir=self.folder)
        except OSError:
            return
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(temporary).replace(path)
        except OSError:
            _delete(Path(temporary))
            return
        self._unswept += len(content)
        if self._unswept > self.limit_bytes * (1 - _SHARE_KEPT) / 2:
            self._sweep()
            self._unswept = 0

    def _sweep(self) -> None:
        """Delete abandoned files and, above the limit, the least recently used clips."""
        abandoned_before = time.time() - _ABANDONED_AFTER_S
        clips = []
        for file in self._files():
            if file.path.suffix == _CLIP_SUFFIX:
                clips.append(file)
            elif file.used_s < abandoned_before:
                _delete(file.path)
        total = sum(clip.size for clip in clips)
        if total <= self.limit_bytes:
            return
        for clip in sorted(clips, key=lambda clip: (clip.used_s, clip.path)):
            # Files that another process deleted count too; otherwise two sweeps would delete too
            # much.
            if _delete(clip.path):
                total -= clip.size
            if total <= self.limit_bytes * _SHARE_KEPT:
                return


def _delete(path: Path) -> bool:
    """Delete a file; return False if it is still there, as on Windows while it is being read."""
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return False
    return True


@cache
def speech_cache(folder: Path) -> SpeechCache:
    """Return this process's cache for a folder."""
    return SpeechCache(folder)
