"""Folders of the user's files: one for data, one for caches that can be rebuilt.

The environment variable FAINTCALL_HOME replaces both (data/ and cache/ below it); tests use it.
"""

import os
from collections.abc import Callable
from pathlib import Path

import platformdirs

from drill.core.errors import UserError

HOME_VARIABLE = "FAINTCALL_HOME"


def data_folder() -> Path:
    """Return the folder of the record and the user's own presets, exchanges and voices.

    It may not exist yet. Raises: UserError if the user has no home folder.
    """
    return _folder("data", platformdirs.user_data_path)


def cache_folder() -> Path:
    """Return the folder of cached speech; it may not exist yet.

    Raises: UserError if the user has no home folder.
    """
    return _folder("cache", platformdirs.user_cache_path)


def record_file() -> Path:
    """Return the path of the record database; it may not exist yet. Raises: as data_folder."""
    return data_folder() / "record.sqlite3"


def _folder(name: str, platform_folder: Callable[..., Path]) -> Path:
    try:
        home = os.environ.get(HOME_VARIABLE)
        if home:
            return Path(home).expanduser() / name
        return platform_folder("faintcall", appauthor=False)
    except RuntimeError:  # for example a container's user that the system does not know
        raise UserError(
            f"this user has no home folder; set the environment variable {HOME_VARIABLE} to the "
            "full path of a folder"
        ) from None
