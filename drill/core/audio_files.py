"""Sound files: 16 bit, mono, FLAC or WAV by the ending of the name; any kind is read."""

import io
import os
from pathlib import Path

import numpy as np

from drill.core.errors import UserError
from drill.core.models import Clip

FORMATS = ("flac", "wav")
RATES_HZ, MOST_CHANNELS = (8_000, 192_000), 2
MOST = 100.0
"""Full scale is 1; numbers far beyond it are no sound, whatever a file calls them."""


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
    """Return the sound of a file at its own rate, its channels joined into one.

    Raises: UserError where it cannot be read, is empty, or holds numbers that are no sound.
    """
    import soundfile

    try:
        samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    except (OSError, RuntimeError):  # soundfile's own errors are RuntimeErrors
        why = "it is no sound file, give WAV or FLAC" if path.is_file() else "it is not there"
        raise UserError(f"{path} cannot be read: {why}") from None
    if not len(samples) or not np.isfinite(samples).all():
        raise UserError(f"{path} holds no sound")
    return Clip(samples=samples.mean(axis=1).astype(np.float32), rate_hz=int(rate_hz))


def read_bytes(data: bytes, *, longest_s: float) -> Clip:
    """Return the sound of a file in memory, at its own rate, its channels joined into one.

    A few bytes can stand for hours: no more is read than one sample beyond longest_s.
    Raises: UserError where it is no sound file, is empty, or is of a rate or a number of channels
    that no microphone has.
    """
    import soundfile

    try:
        with soundfile.SoundFile(io.BytesIO(data)) as file:
            rate_hz, channels = file.samplerate, file.channels
            if not RATES_HZ[0] <= rate_hz <= RATES_HZ[1] or channels > MOST_CHANNELS:
                raise UserError(
                    f"the recording has {channels} channels at {rate_hz} Hz; allowed are "
                    f"1 to {MOST_CHANNELS} at {RATES_HZ[0]} to {RATES_HZ[1]} Hz"
                )
            samples = file.read(round(longest_s * rate_hz) + 1, dtype="float32", always_2d=True)
    except RuntimeError:  # soundfile's own errors are RuntimeErrors
        raise UserError("the recording cannot be read; give WAV or FLAC") from None
    if not len(samples) or not np.all(np.abs(samples) <= MOST):
        raise UserError("the recording holds no sound")
    return Clip(samples=samples.mean(axis=1).astype(np.float32), rate_hz=int(rate_hz))


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
