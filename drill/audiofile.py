"""Sound files: 16 bit, mono, FLAC or WAV by the ending of the name."""

import io
import os
from pathlib import Path

import numpy as np

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


def wav_bytes(clip: Clip) -> bytes:
    """Return a clip as a WAV file in memory, at most full scale: the bytes that write writes."""
    import soundfile

    samples = np.nan_to_num(clip.samples, posinf=1.0, neginf=-1.0)
    out = io.BytesIO()
    soundfile.write(out, samples, clip.rate_hz, format="WAV", subtype="PCM_16")
    return out.getvalue()


def folder(path: Path) -> Path:
    """Return the folder, made where missing. Raises: UserError where that cannot be."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(f"the folder {path} cannot be made: {error.strerror}") from None
    return path
