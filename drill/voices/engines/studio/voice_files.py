"""The voices of the studio engine: 54 of the model, and those in the user's own folder.

A voice is one vector of 256 numbers. The user's are files in `voices` of the data folder, NAME.bin
(float32, little-endian) or NAME.npy, of one vector or of 510, one for each length of a text. What
such a voice is called for the record holds the digest of its vector: the same item, the same sound.
"""

import hashlib
import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import UserError
from drill.core.models import Operator
from drill.core.paths import data_folder

Vector = NDArray[np.float32]

PREFIX = "studio-"
SIZE = 256
ROW = 40  # of the 510: which one is taken changes little
ROWS = 510
SUFFIXES = (".bin", ".npy")
USUAL_PITCH_HZ = 120.0  # of an operator whose pitch is the voice's own
VOICES_SHA256 = "7dd5cff0945531a07a737e7db94d69cb54277a2c887ad2df3c8e83d0fb76f18a"


@dataclass(frozen=True, kw_only=True, eq=False)
class OwnVoice:
    """A voice in the user's folder: its name, its vector (256,), the first digits of its digest."""

    name: str
    vector: Vector

    @property
    def key(self) -> str:
        """Return the name by which an operator keeps it."""
        digest = hashlib.sha256(self.vector.astype("<f4").tobytes()).hexdigest()
        return f"{self.name}@{digest[:12]}"


def voice_names() -> tuple[str, ...]:
    """Return the names of the model's own voices."""
    return tuple(_data("voices")["voices"])


def voice(name: str) -> tuple[Vector, float]:
    """Return a voice's vector (256,) and its own pitch in Hz.

    Raises: UserError where there is none of the name, or the user's own is another one by now.
    """
    own, found, _ = name.partition("@")
    if found:
        return _own(own, name).vector, USUAL_PITCH_HZ
    known = _data("voices")["voices"]
    if name not in known:
        raise UserError(f"no voice {name!r} of the studio engine; there are: {', '.join(known)}")
    return _vectors()[known[name]["row"]], known[name]["pitch_hz"]


def own_operator(name: str) -> Operator:
    """Return the operator of a voice of the user's own, by its name studio-NAME.

    Raises: UserError where the voice is not there or its file is of no use.
    """
    key = _own(name.removeprefix(PREFIX)).key
    return Operator(name=name, engine="studio", voice=key, pitch_hz=USUAL_PITCH_HZ)


def folder() -> Path:
    """Return the folder of the user's own voices; it may not exist."""
    return data_folder() / "voices"


def own_names() -> tuple[str, ...]:
    """Return the names of the files in the user's folder that look like voices, sorted."""
    try:
        found = [path.stem for path in folder().iterdir() if path.suffix in SUFFIXES]
    except OSError:
        return ()
    return tuple(sorted(set(found)))


def own_voice(name: str) -> OwnVoice:
    """Return a voice of the user's folder. Raises: UserError where it is not there or of no use."""
    for suffix in SUFFIXES:
        path = folder() / f"{name}{suffix}"
        if path.is_file():
            if not re.fullmatch(r"[a-z0-9_-]+", name):
                raise UserError(
                    f"the voice {path} cannot be asked for; name the file with a to z, 0 to 9, _, -"
                )
            return OwnVoice(name=name, vector=_read(path))
    there = ", ".join(own_names()) or "none"
    raise UserError(f"no voice {name!r} in {folder()}; there are: {there}")


def _own(name: str, key: str = "") -> OwnVoice:
    """Return the user's voice, the very one of the key where one is given."""
    found = own_voice(name)
    if key and found.key != key:
        raise UserError(
            f"the voice {name!r} in {folder()} is not the one that this was made with; "
            "put the former file back or begin anew"
        )
    return found


def _read(path: Path) -> Vector:
    """Return the vector of a file. Raises: UserError where it is no voice of this model."""
    try:
        if path.suffix == ".npy":
            numbers = np.load(path, allow_pickle=False).astype("<f4").ravel()
        else:
            numbers = np.frombuffer(path.read_bytes(), "<f4")
    except (OSError, ValueError, EOFError, TypeError) as error:
        raise UserError(f"the voice {path} cannot be read: {error}") from None
    if numbers.size not in (SIZE, ROWS * SIZE):
        raise UserError(
            f"the voice {path} has {numbers.size} numbers; "
            f"a voice of the studio engine has {SIZE} or {ROWS} times {SIZE}"
        )
    row = numbers.reshape(-1, SIZE)[ROW if numbers.size > SIZE else 0]
    if not np.isfinite(row).all() or not np.any(row) or np.abs(row).max() > 10:
        raise UserError(f"the voice {path} holds numbers that no voice has; it may be damaged")
    return np.asarray(row, np.float32)


@cache
def _vectors() -> Vector:
    """Return the vectors of the model's own voices, shape (54, 256)."""
    with (files("drill.voices.engines.studio") / "voices.npy").open("rb") as file:
        return np.asarray(np.load(file, allow_pickle=False), np.float32)


@cache
def _data(name: str) -> dict[str, Any]:
    return tomllib.loads((files("drill.voices.engines.studio") / f"{name}.toml").read_text("utf-8"))
