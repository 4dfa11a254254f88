"""Sound files: 16 bit, mono, FLAC or WAV by the ending of the name."""

import io
import os
import wave
from pathlib import Path

import numpy as np

from drill.errors import UserError
from drill.items import Clip

FORMATS = ("flac", "wav")
FULL_SCALE = 32767


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
    """Return a clip as a WAV file in memory, at most full scale: the samples that write writes."""
    samples = np.clip(np.nan_to_num(clip.samples), -1, 1).astype(np.float64)
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(clip.rate_hz)
        file.writeframes(np.round(samples * FULL_SCALE).astype("<i2").tobytes())
    return out.getvalue()


def folder(path: Path) -> Path:
    """Return the folder, made where missing. Raises: UserError where that cannot be."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(f"the folder {path} cannot be made: {error.strerror}") from None
    return path
