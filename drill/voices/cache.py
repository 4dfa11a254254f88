"""Speech that has been synthesised already, kept on disk under the digest of what made it.

One file a clip: a line of JSON (rate, words, digest), then the samples as 16 bits little-endian.
Files appear whole or not at all, and one that vanishes is made anew, so that processes can share
the folder without a lock. What is returned is always what the file holds, at a first call too: a
hit and a miss are equal to the last bit.
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
from phonetics.message import Word

SUFFIX = ".speech"
UNFINISHED = ".unfinished"
ABANDONED_S = 600  # an unfinished file so old is of a process that was killed
FULL_SCALE = 32767
LIMIT_BYTES = 200_000_000
KEEP_SHARE = 0.9  # what stays when the limit is passed, so that not every clip calls for a sweep


def key(words: Sequence[Word], operator: Operator, seed: int, *, engine: str, version: str) -> str:
    """Return the name of a clip: the digest of all that decides its sound."""
    spoken = [(word.say, word.pause) for word in words]
    how = {name: value for name, value in asdict(operator).items() if name not in ("name", "hard")}
    made_from = json.dumps([_sources(), engine, version, spoken, how, seed], sort_keys=True)
    return hashlib.sha256(made_from.encode()).hexdigest()


@cache
def _sources() -> str:
    """Return the digest of this package: a changed table or step must not meet an old clip."""
    digest = hashlib.sha256()
    folder = Path(__file__).parent
    for path in sorted([*folder.rglob("*.py"), *folder.glob("data/*.toml")]):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def encode(clip: Clip) -> bytes:
    """Return the content of a clip's file."""
    sound = np.round(clip.samples * FULL_SCALE).astype("<i2").tobytes()
    words = [[word.say, word.start_s, word.end_s] for word in clip.words]
    head = {"rate_hz": clip.rate_hz, "words": words}
    return json.dumps({**head, "digest": _digest(head, sound)}).encode() + b"\n" + sound


def decode(content: bytes) -> Clip:
    """Return the clip of a file's content.

    Raises: ValueError, KeyError or TypeError where the content is damaged.
    """
    line, _, sound = content.partition(b"\n")
    head = dict(json.loads(line))
    if head.pop("digest") != _digest(head, sound):
        raise ValueError("the digest does not fit")
    samples = np.frombuffer(sound, "<i2").astype(np.float32) / np.float32(FULL_SCALE)
    words = tuple(WordTime(say=say, start_s=a, end_s=b) for say, a, b in head["words"])
    return Clip(samples=samples, rate_hz=head["rate_hz"], words=words)


def _digest(head: dict[str, object], sound: bytes) -> str:
    return hashlib.sha256(json.dumps(head, sort_keys=True).encode() + sound).hexdigest()


@dataclass(frozen=True, kw_only=True, slots=True)
class _File:
    """A file of the cache as it was seen: when last used in s, bytes, where."""

    used_s: float
    size: int
    path: Path


class SpeechCache:
    """A folder of clips, at most about limit_bytes large; the least recently used ones go first.

    A folder that cannot be read or written is no error: everything is then made anew.
    """

    def __init__(self, folder: Path, limit_bytes: int = LIMIT_BYTES) -> None:
        """Take the folder as it is; nothing is read or made before a clip is asked for."""
        self.folder = folder
        self.limit_bytes = limit_bytes
        self._unseen = limit_bytes  # bytes written since the last sweep; the first write sweeps

    def get(self, name: str, make: Callable[[], Clip]) -> Clip:
        """Return the clip of that name, made and kept where it is not there or is damaged."""
        path = self.folder / f"{name}{SUFFIX}"
        try:
            clip = decode(path.read_bytes())
        except (OSError, ValueError, KeyError, TypeError):
            content = encode(make())
            self._write(path, content)
            return decode(content)
        with contextlib.suppress(OSError):
            os.utime(path)
        return clip

    def size(self) -> tuple[int, int]:
        """Return how many clips there are and how many bytes all files have together."""
        files = list(self._files())
        clips = sum(file.path.suffix == SUFFIX for file in files)
        return clips, sum(file.size for file in files)

    def clear(self) -> tuple[int, int]:
        """Delete every file of the cache and nothing else; return how many, and bytes."""
        gone = [file for file in self._files() if _delete(file.path)]
        return len(gone), sum(file.size for file in gone)

    def _files(self) -> Iterator[_File]:
        """Yield the cache's own files, those half written too."""
        try:
            paths = [each for each in self.folder.iterdir() if each.suffix in (SUFFIX, UNFINISHED)]
        except OSError:
            return
        for path in paths:
            with contextlib.suppress(OSError):  # another process has deleted it
                about = path.stat()
                yield _File(used_s=about.st_mtime, size=about.st_size, path=path)

    def _write(self, path: Path, content: bytes) -> None:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            handle, temporary = tempfile.mkstemp(suffix=UNFINISHED, dir=self.folder)
        except OSError:
            return
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(temporary).replace(path)
        except OSError:
            _delete(Path(temporary))
            return
        self._unseen += len(content)
        if self._unseen > self.limit_bytes * (1 - KEEP_SHARE) / 2:
            self._sweep()
            self._unseen = 0

    def _sweep(self) -> None:
        """Delete what a killed process left, and the least used clips where over the limit."""
        oldest = time.time() - ABANDONED_S
        files = []
        for file in self._files():
            if file.path.suffix == SUFFIX:
                files.append(file)
            elif file.used_s < oldest:
                _delete(file.path)
        total = sum(file.size for file in files)
        if total <= self.limit_bytes:
            return
        for file in sorted(files, key=lambda file: (file.used_s, file.path)):
            # What another process has deleted meanwhile counts too, or two would delete twice.
            if _delete(file.path):
                total -= file.size
            if total <= self.limit_bytes * KEEP_SHARE:
                return


def _delete(path: Path) -> bool:
    """Return True where the file is not there any more; Windows keeps one that is being read."""
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return False
    return True


@cache
def clips_in(folder: Path) -> SpeechCache:
    """Return this process's cache in a folder."""
    return SpeechCache(folder)
