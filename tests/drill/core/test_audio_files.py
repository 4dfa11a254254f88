"""Audio files: written completely or not at all, read in one line or refused in one line."""

import io
from pathlib import Path

import numpy as np
import pytest
import soundfile

from drill.core.audio_files import (
    AUDIO_FORMATS,
    make_folder,
    read_audio,
    read_audio_bytes,
    wav_bytes,
    write_audio,
)
from drill.core.errors import UserError
from drill.core.models import Clip, Samples

RATE_HZ = 16_000


def noise(seconds: float = 0.1) -> Samples:
    return np.random.default_rng(1).uniform(-0.5, 0.5, round(seconds * RATE_HZ)).astype(np.float32)


def encoded(samples: Samples, rate_hz: int = RATE_HZ) -> bytes:
    buffer = io.BytesIO()
    soundfile.write(buffer, samples, rate_hz, format="WAV", subtype="FLOAT")
    return buffer.getvalue()


@pytest.mark.parametrize("name", AUDIO_FORMATS)
def test_a_clip_is_read_back_within_one_step_of_16_bits(name: str, tmp_path: Path) -> None:
    """Outside check: libsndfile reads the format, width and rate."""
    path = tmp_path / f"a.{name.upper()}"
    write_audio(path, Clip(samples=noise(), rate_hz=RATE_HZ))
    info = soundfile.info(path)
    assert (info.format, info.subtype, info.channels) == (name.upper(), "PCM_16", 1)
    clip = read_audio(path)
    assert clip.rate_hz == RATE_HZ
    assert np.max(np.abs(clip.samples - noise())) <= 1 / 32768
    assert [file.name for file in tmp_path.iterdir()] == [path.name]


def test_a_failed_write_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="cannot be written"):
        write_audio(tmp_path / "no" / "a.wav", Clip(samples=noise(), rate_hz=RATE_HZ))
    assert list(tmp_path.iterdir()) == []


def test_channels_are_averaged(tmp_path: Path) -> None:
    left, right = noise(), -0.5 * noise()
    soundfile.write(tmp_path / "a.wav", np.stack([left, right], 1), RATE_HZ, subtype="FLOAT")
    assert np.allclose(read_audio(tmp_path / "a.wav").samples, (left + right) / 2, atol=1e-6)
    clip = read_audio_bytes(encoded(np.stack([left, right], 1)), longest_s=1.0)
    assert np.allclose(clip.samples, (left + right) / 2, atol=1e-6)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (None, "the file does not exist"),
        (b"text", "it is not an audio file; give WAV or FLAC"),
        (encoded(np.zeros(0, np.float32)), "contains no audio"),
        (encoded(np.array([0, np.nan], np.float32)), "contains no audio"),
    ],
    ids=["missing", "text", "empty", "not finite"],
)
def test_a_file_without_audio_is_refused(
    content: bytes | None, message: str, tmp_path: Path
) -> None:
    path = tmp_path / "a.wav"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(UserError, match=message) as caught:
        read_audio(path)
    assert "\n" not in str(caught.value)


def test_an_upload_is_read_to_its_longest_length_only() -> None:
    clip = read_audio_bytes(encoded(noise(1.0)), longest_s=0.25)
    assert len(clip.samples) == RATE_HZ / 4 + 1
    assert np.allclose(clip.samples, noise(1.0)[: len(clip.samples)])


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"text", "not an audio file; give WAV or FLAC"),
        (encoded(np.zeros(0, np.float32)), "contains no audio"),
        (encoded(np.array([0, 101], np.float32)), "contains no audio"),
        (encoded(np.array([0, np.nan], np.float32)), "contains no audio"),
        (encoded(np.zeros((9, 3), np.float32)), "3 channels at 16000 Hz; allowed are 1 to 2"),
        (encoded(np.zeros(9, np.float32), 4_000), "1 channels at 4000 Hz; allowed are"),
        (encoded(np.zeros(9, np.float32), 200_000), "200000 Hz; allowed are"),
    ],
    ids=["text", "empty", "too loud", "not finite", "channels", "rate too low", "rate too high"],
)
def test_an_upload_that_no_microphone_gives_is_refused(data: bytes, message: str) -> None:
    with pytest.raises(UserError, match=message):
        read_audio_bytes(data, longest_s=1.0)


def test_a_wav_in_memory_is_the_file_that_is_written(tmp_path: Path) -> None:
    clip = Clip(samples=noise(), rate_hz=RATE_HZ)
    write_audio(tmp_path / "a.wav", clip)
    assert wav_bytes(clip) == (tmp_path / "a.wav").read_bytes()


def test_samples_that_are_not_finite_are_played_at_most_at_full_scale() -> None:
    wild = np.array([np.nan, np.inf, -np.inf, 2.0, 0.5], np.float32)
    samples, _ = soundfile.read(io.BytesIO(wav_bytes(Clip(samples=wild, rate_hz=RATE_HZ))))
    assert np.allclose(samples, [0, 1, -1, 1, 0.5], atol=1e-4)


def test_folders_are_created_with_their_parents(tmp_path: Path) -> None:
    assert make_folder(tmp_path / "a" / "b").is_dir()
    assert make_folder(tmp_path / "a" / "b").is_dir()
    (tmp_path / "file").write_text("")
    with pytest.raises(UserError, match="cannot be created"):
        make_folder(tmp_path / "file" / "b")
