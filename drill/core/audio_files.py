"""Audio files: written as 16-bit mono FLAC or WAV, read in any format that libsndfile knows."""

import io
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import numpy as np

from drill.core.errors import ResourceUnavailable, UserError, single_line
from drill.core.models import Clip
from drill.core.packages import missing_package, pip_install_command

AUDIO_FORMATS = ("flac", "wav")
"""File endings, and names of formats, that write_audio accepts."""
UPLOAD_RATES_HZ = (8_000, 192_000)
UPLOAD_MAX_CHANNELS = 2
MAX_AMPLITUDE = 100.0
"""Full scale is 1; a file with samples far beyond it does not contain audio."""


def load_soundfile() -> Any:
    """Return the module soundfile; it loads a shared library, so it is imported only when needed.

    Raises: ResourceUnavailable with the remedy if the package or its library libsndfile is missing.
    """
    try:
        import soundfile
    except ImportError as error:
        raise missing_package(error) or error from None
    except OSError as error:
        command = pip_install_command("--force-reinstall", "--no-deps", "soundfile")
        raise ResourceUnavailable(
            f"the library libsndfile cannot be loaded ({single_line(error)}); on Debian or Ubuntu: "
            f"sudo apt install libsndfile1; elsewhere: {command}"
        ) from None
    return soundfile


def write_audio(path: Path, clip: Clip) -> None:
    """Write a clip to a file in the format of its ending; a failed write leaves no file.

    Raises: UserError if the file cannot be written.
    """
    soundfile = load_soundfile()
    with audio_file_when_complete(path) as temporary:
        soundfile.write(
            temporary, clip.samples, clip.rate_hz, format=audio_format(path), subtype="PCM_16"
        )


def audio_format(path: Path) -> str:
    """Return libsndfile's name of the format that a file's ending names."""
    return path.suffix.lstrip(".").upper()


@contextmanager
def audio_file_when_complete(path: Path) -> Iterator[Path]:
    """Yield a file beside the path, which takes its place at the end, or is deleted on an error.

    Raises: UserError if the file cannot be written.
    """
    soundfile = load_soundfile()
    temporary = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        yield temporary
        temporary.replace(path)
    except (OSError, soundfile.LibsndfileError) as error:
        raise UserError(f"{path} cannot be written: {error}") from None
    finally:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)


def read_audio(path: Path) -> Clip:
    """Return the audio of a file at its own rate; several channels are averaged.

    Raises: UserError if the file is missing, is not an audio file, is empty, or has samples that
    are not finite.
    """
    soundfile = load_soundfile()
    try:
        samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    except (OSError, RuntimeError):  # soundfile's own errors are RuntimeErrors
        reason = "it is not an audio file; give WAV or FLAC"
        if not path.is_file():
            reason = "the file does not exist"
        raise UserError(f"{path} cannot be read: {reason}") from None
    if not len(samples) or not np.isfinite(samples).all():
        raise UserError(f"{path} contains no audio")
    return Clip(samples=samples.mean(axis=1).astype(np.float32), rate_hz=int(rate_hz))


def read_audio_bytes(data: bytes, *, longest_s: float) -> Clip:
    """Return the audio of a file in memory at its own rate; several channels are averaged.

    A few bytes can decode to hours of audio, so reading stops one sample after longest_s.
    Raises: UserError if the data is not an audio file, is empty, has samples beyond MAX_AMPLITUDE,
    or has a rate or number of channels outside UPLOAD_RATES_HZ and UPLOAD_MAX_CHANNELS.
    """
    soundfile = load_soundfile()
    try:
        with soundfile.SoundFile(io.BytesIO(data)) as file:
            rate_hz, channels = file.samplerate, file.channels
            lowest_hz, highest_hz = UPLOAD_RATES_HZ
            if not lowest_hz <= rate_hz <= highest_hz or channels > UPLOAD_MAX_CHANNELS:
                raise UserError(
                    f"the recording has {channels} channels at {rate_hz} Hz; allowed are "
                    f"1 to {UPLOAD_MAX_CHANNELS} at {lowest_hz} to {highest_hz} Hz"
                )
            samples = file.read(round(longest_s * rate_hz) + 1, dtype="float32", always_2d=True)
    except RuntimeError:  # soundfile's own errors are RuntimeErrors
        raise UserError("the recording is not an audio file; give WAV or FLAC") from None
    if not len(samples) or not np.all(np.abs(samples) <= MAX_AMPLITUDE):
        raise UserError("the recording contains no audio")
    return Clip(samples=samples.mean(axis=1).astype(np.float32), rate_hz=int(rate_hz))


def wav_bytes(clip: Clip) -> bytes:
    """Return a clip as a WAV file in memory, with the same bytes as write_audio writes.

    Samples that are not finite become 0 or full scale.
    """
    soundfile = load_soundfile()
    samples = np.nan_to_num(clip.samples, posinf=1.0, neginf=-1.0)
    buffer = io.BytesIO()
    soundfile.write(buffer, samples, clip.rate_hz, format="WAV", subtype="PCM_16")
    return buffer.getvalue()


def make_folder(path: Path) -> Path:
    """Create a folder and its parents if missing; return it. Raises: UserError if it cannot."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(f"the folder {path} cannot be created: {error.strerror}") from None
    return path
