"""Folders of the user's files: one for data, one for caches that can be rebuilt.

The environment variable FAINTCALL_HOME replaces both (data/ and cache/ below it); tests use it.
"""

import os
from pathlib import Path

import platformdirs

HOME_VARIABLE = "FAINTCALL_HOME"


def data_folder() -> Path:
    """Return the folder of the record and the user's own presets, exchanges and voices.

    It may not exist yet.
    """
    home = os.environ.get(HOME_VARIABLE)
    if home:
        return Path(home) / "data"
    return platformdirs.user_data_path("faintcall", appauthor=False)


def cache_folder() -> Path:
    """Return the folder of cached speech; it may not exist yet."""
    home = os.environ.get(HOME_VARIABLE)
    if home:
        return Path(home) / "cache"
    return platformdirs.user_cache_path("faintcall", appauthor=False)


def record_file() -> Path:
    """Return the path of the record database; it may not exist yet."""
    return data_folder() / "record.sqlite3"
