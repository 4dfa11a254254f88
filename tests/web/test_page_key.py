"""The page key's file: private, the same for every run, and replaced if it is damaged."""

import os
import stat
from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.web.page_key import KEY_LENGTH, load_page_key


def test_the_key_is_private_and_stays_the_same(home: Path) -> None:
    key = load_page_key()
    assert len(key) == KEY_LENGTH
    assert load_page_key() == key
    path = home / "data" / "page-key"
    if os.name == "posix":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert [entry.name for entry in path.parent.iterdir()] == ["page-key"]


@pytest.mark.parametrize("content", [b"", b"short", b"\xff" * 43, b"x" * 44])
def test_a_damaged_key_is_replaced(content: bytes, home: Path) -> None:
    (home / "data").mkdir(parents=True)
    path = home / "data" / "page-key"
    path.write_bytes(content)
    path.chmod(0o600)
    key = load_page_key()
    assert len(key) == KEY_LENGTH
    assert load_page_key() == key


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX")
def test_a_key_that_others_could_read_is_replaced(home: Path) -> None:
    (home / "data").mkdir(parents=True)
    path = home / "data" / "page-key"
    path.write_text("k" * KEY_LENGTH)
    path.chmod(0o644)
    assert load_page_key() != "k" * KEY_LENGTH


def test_tokens_of_version_0_2_0_are_deleted(home: Path) -> None:
    (home / "data").mkdir(parents=True)
    (home / "data" / "page-tokens.json").write_text("{}")
    load_page_key()
    assert not (home / "data" / "page-tokens.json").exists()


def test_a_data_folder_that_cannot_be_written_is_an_error(home: Path) -> None:
    home.mkdir()
    (home / "data").write_text("a file")
    with pytest.raises(UserError, match="cannot be read or written"):
        load_page_key()
