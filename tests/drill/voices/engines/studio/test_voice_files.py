"""The model's voices are the documented ones; the user's files are read safely."""

import hashlib
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.core.paths import data_folder
from drill.voices.diagnostics import user_voice_operators
from drill.voices.engines.studio.voice_files import (
    STUDIO_VOICES_SHA256,
    find_voice,
    load_user_voice,
    studio_voice_names,
    user_voice_names,
)
from drill.voices.operators import find_operator

ROWS = np.random.default_rng(1).uniform(-0.5, 0.5, (510, 256)).astype("<f4")


def write_bin(path: Path, numbers: np.ndarray) -> None:
    path.with_suffix(".bin").write_bytes(numbers.astype("<f4").tobytes())


def write_npy(path: Path, numbers: np.ndarray) -> None:
    np.save(path.with_suffix(".npy"), numbers)


@pytest.fixture
def folder(home: Path) -> Path:
    path = data_folder() / "voices"
    path.mkdir(parents=True)
    return path


def test_the_vectors_are_those_whose_digest_is_in_the_cache_key() -> None:
    """54 voices from npm's kokoro-js 1.2.1: see SOURCES.md beside the file."""
    content = (files("drill.voices.engines.studio") / "voices.npy").read_bytes()
    assert hashlib.sha256(content).hexdigest() == STUDIO_VOICES_SHA256
    assert len(studio_voice_names()) == 54


def test_no_two_voices_are_the_same() -> None:
    vectors = {find_voice(name)[0].tobytes() for name in studio_voice_names()}
    assert len(vectors) == 54


def test_without_a_folder_there_are_no_user_voices(home: Path) -> None:
    assert user_voice_names() == ()
    with pytest.raises(UserError, match="'alex'"):
        find_operator("studio-alex")


@pytest.mark.parametrize("write", [write_bin, write_npy])
@pytest.mark.parametrize("shape", [(510, 256), (510, 1, 256), (256,), (1, 256)])
def test_a_file_becomes_a_voice(
    folder: Path, write: Callable[..., None], shape: tuple[int, ...]
) -> None:
    write(folder / "alex", (ROWS if shape[0] == 510 else ROWS[40]).reshape(shape))
    assert user_voice_names() == ("alex",)
    operator = find_operator("studio-alex")
    assert (operator.name, operator.engine) == ("studio-alex", "studio")
    vector, _ = find_voice(operator.voice)
    assert np.array_equal(vector, ROWS[40])


def test_an_item_is_not_played_with_a_changed_voice(folder: Path) -> None:
    write_bin(folder / "alex", ROWS)
    key = find_operator("studio-alex").voice
    write_bin(folder / "alex", ROWS[::-1])
    assert find_operator("studio-alex").voice != key
    with pytest.raises(UserError, match="has changed since this item was made"):
        find_voice(key)


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("short.bin", b"1234", "1 numbers"),
        ("odd.bin", b"12345", "cannot be read"),
        ("empty.npy", b"", "cannot be read"),
        ("text.npy", b"hello, I am a text and no array at all", "cannot be read"),
        ("zeros.bin", bytes(1024), "damaged"),
        ("nan.bin", np.full(256, np.nan, "<f4").tobytes(), "damaged"),
        ("huge.bin", np.full(256, 1e9, "<f4").tobytes(), "damaged"),
        ("My Voice.bin", ROWS.tobytes(), "a to z"),
    ],
    ids=["short", "odd", "empty", "text", "zeros", "nan", "huge", "name"],
)
def test_an_unusable_file_gives_a_one_line_error_and_hides_no_other_voice(
    folder: Path, name: str, content: bytes, message: str
) -> None:
    (folder / name).write_bytes(content)
    write_bin(folder / "good", ROWS)
    operators, messages = user_voice_operators()
    assert [operator.name for operator in operators] == ["studio-good"]
    (line,) = messages
    assert message in line
    assert name in line
    assert "\n" not in line


def test_a_pickle_is_never_loaded(folder: Path) -> None:
    np.save(folder / "evil.npy", np.array([print], dtype=object))
    with pytest.raises(UserError, match="cannot be read"):
        load_user_voice("evil")
