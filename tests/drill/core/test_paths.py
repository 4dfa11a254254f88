"""The user's folders, and the variable that moves them."""

from pathlib import Path

import platformdirs
import pytest

from drill.core.paths import HOME_VARIABLE, cache_folder, data_folder, record_file


def test_the_variable_moves_both_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path))
    assert data_folder() == tmp_path / "data"
    assert cache_folder() == tmp_path / "cache"
    assert record_file() == tmp_path / "data" / "record.sqlite3"
    assert not any(tmp_path.iterdir())


def test_without_the_variable_the_folders_are_those_of_the_platform(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Outside source: platformdirs, which follows each system's conventions."""
    monkeypatch.delenv(HOME_VARIABLE)
    assert data_folder() == Path(platformdirs.user_data_dir("faintcall", appauthor=False))
    assert cache_folder() == Path(platformdirs.user_cache_dir("faintcall", appauthor=False))


def test_a_tilde_means_the_users_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a desktop file or a service, no shell expands the tilde."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    monkeypatch.setenv(HOME_VARIABLE, "~/radio")
    assert record_file() == tmp_path / "radio" / "data" / "record.sqlite3"
