"""The voices of the studio engine: 54 of the model, and those in the user's folder.

A voice is a vector of 256 numbers. The user's voices are files NAME.bin (float32, little-endian) or
NAME.npy in the folder `voices` of the data folder. A file holds one vector, or 510 of them, one for
each length of a text. An operator stores the digest of its vector, so that an item is never played
with a voice other than the original one.
"""

import hashlib
import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import UserError
from drill.core.models import Operator
from drill.core.paths import data_folder
from drill.core.validation import one_of

VoiceVector = NDArray[np.float32]

STUDIO_PREFIX = "studio-"
VOICE_TABLE = Path(__file__).with_name("voices.toml")
_VECTORS = Path(__file__).with_name("voices.npy")
STUDIO_VOICES_SHA256 = "7dd5cff0945531a07a737e7db94d69cb54277a2c887ad2df3c8e83d0fb76f18a"
_SIZE = 256
_ROWS = 510
_ROW = 40  # the one of the 510 vectors that is used; the choice makes little difference
_FILE_TYPES = (".bin", ".npy")
_USUAL_PITCH_HZ = 120.0  # assumed, because the pitch of a user's voice is not known
_MAX_VALUE = 10.0  # the model's own voices stay below 1


@dataclass(frozen=True, kw_only=True, eq=False)
class UserVoice:
    """A voice in the user's folder: its name and its vector, shape (256,)."""

    name: str
    vector: VoiceVector

    @property
    def key(self) -> str:
        """Return the name and the start of the vector's digest, as an operator stores it."""
        digest = hashlib.sha256(self.vector.astype("<f4").tobytes()).hexdigest()
        return f"{self.name}@{digest[:12]}"


def studio_voice_names() -> tuple[str, ...]:
    """Return the names of the model's own voices."""
    return tuple(_voice_table())


def find_voice(name: str) -> tuple[VoiceVector, float]:
    """Return the vector (256,) of a voice and its median pitch in Hz.

    name: of one of the model's voices, or the key of a user's voice.

    Raises: UserError if there is no such voice, or the user's file has changed.
    """
    user_name, is_key, _ = name.partition("@")
    if is_key:
        return load_user_voice(user_name, name).vector, _USUAL_PITCH_HZ
    table = _voice_table()
    row = table[one_of("voice", name, table, label="studio voice")]
    return _model_vectors()[row["row"]], row["pitch_hz"]


def user_voice_operator(name: str) -> Operator:
    """Return the operator of a user's voice; name: studio-NAME.

    Raises: UserError if the file is missing or cannot be used.
    """
    key = load_user_voice(name.removeprefix(STUDIO_PREFIX)).key
    return Operator(name=name, engine="studio", voice=key, pitch_hz=_USUAL_PITCH_HZ)


def user_voices_folder() -> Path:
    """Return the folder of the user's voices; it may not exist."""
    return data_folder() / "voices"


def user_voice_names() -> tuple[str, ...]:
    """Return the names of the voice files in the user's folder, sorted."""
    try:
        names = {p.stem for p in user_voices_folder().iterdir() if p.suffix in _FILE_TYPES}
    except OSError:
        return ()
    return tuple(sorted(names))


def load_user_voice(name: str, key: str = "") -> UserVoice:
    """Load a user's voice; with `key`, check that the file is unchanged.

    Raises: UserError if the file is missing, cannot be used, or has changed.
    """
    folder = user_voices_folder()
    paths = [folder / f"{name}{file_type}" for file_type in _FILE_TYPES]
    path = next((path for path in paths if path.is_file()), None)
    if path is None:
        choices = ", ".join(user_voice_names()) or "none"
        raise UserError(f"no voice {name!r} in {folder}; voices there: {choices}")
    if not re.fullmatch(r"[a-z0-9_-]+", name):
        raise UserError(f"rename the voice file {path}: use only a to z, 0 to 9, _ and -")
    voice = UserVoice(name=name, vector=_read_vector(path))
    if key and voice.key != key:
        raise UserError(
            f"the voice {name!r} in {folder} has changed since this item was made; restore the "
            "original file or start a new session"
        )
    return voice


def _read_vector(path: Path) -> VoiceVector:
    """Return the vector in a file. Raises: UserError if it is not a voice of this model."""
    try:
        if path.suffix == ".npy":
            numbers = np.load(path, allow_pickle=False).astype("<f4").ravel()
        else:
            numbers = np.frombuffer(path.read_bytes(), "<f4")
    except (OSError, ValueError, EOFError, TypeError) as error:
        raise UserError(f"the voice file {path} cannot be read: {error}") from None
    if numbers.size not in (_SIZE, _ROWS * _SIZE):
        raise UserError(
            f"the voice file {path} has {numbers.size} numbers; "
            f"a studio voice has {_SIZE}, or {_ROWS} times {_SIZE}"
        )
    row = numbers.reshape(-1, _SIZE)[_ROW if numbers.size > _SIZE else 0]
    if not np.isfinite(row).all() or not np.any(row) or np.abs(row).max() > _MAX_VALUE:
        raise UserError(
            f"the voice file {path} may be damaged: its numbers are not those of a voice"
        )
    return np.asarray(row, np.float32)


@cache
def _model_vectors() -> VoiceVector:
    """Return the vectors of the model's own voices, shape (54, 256)."""
    return np.asarray(np.load(_VECTORS, allow_pickle=False), np.float32)


@cache
def _voice_table() -> dict[str, dict[str, Any]]:
    return dict(tomllib.loads(VOICE_TABLE.read_text("utf-8"))["voices"])
