"""Sound files: 16 bit, mono, FLAC or WAV by the ending of the name."""

import os
from pathlib import Path

from drill.errors import UserError
from drill.items import Clip

FORMATS = ("flac", "wav")


def write(path: Path, clip: Clip) -> None:
    """Write a clip; the file is there whole or not at all.

    Raises: UserError where the file cannot be written.
    """
    import soundfile

    kind = path.suffix.lower().lstrip(".")
    temporary = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        soundfile.write(
            temporary, clip.samples, clip.rate_hz, format=kind.upper(), subtype="PCM_16"
        )
        temporary.replace(path)
    except (OSError, soundfile.LibsndfileError) as error:
        temporary.unlink(missing_ok=True)
        raise UserError(f"{path} cannot be written: {error}") from None


def read(path: Path) -> Clip:
    """Return the sound of a file, its channels joined into one.

    Raises: UserError where it cannot be read or is no sound.
    """
    import soundfile

    try:
        samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    except (OSError, soundfile.LibsndfileError) as error:
        why = "there is no such file" if not path.exists() else str(error).rstrip(".")
        raise UserError(f"{path} is no sound that can be read ({why}); give WAV or FLAC") from None
    return Clip(samples=samples.mean(axis=1).astype("float32"), rate_hz=rate_hz)


def folder(path: Path) -> Path:
    """Return the folder, made where missing. Raises: UserError where that cannot be."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(f"the folder {path} cannot be made: {error.strerror}") from None
    return path
