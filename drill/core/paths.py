"""Where the user's own files are: one folder for data, one for what can be made again.

FAINTCALL_HOME moves both (data/ and cache/ below it); tests isolate themselves with it.
"""

import os
from pathlib import Path


def data_folder() -> Path:
    """Return the folder of records and the user's own exchanges; it may not exist yet."""
    home = os.environ.get("FAINTCALL_HOME")
    if home:
        return Path(home) / "data"
    import platformdirs

    return platformdirs.user_data_path("faintcall", appauthor=False)


def cache_folder() -> Path:
    """Return the folder of speech that has been synthesised already; it may not exist yet."""
    home = os.environ.get("FAINTCALL_HOME")
    if home:
        return Path(home) / "cache"
    import platformdirs

    return platformdirs.user_cache_path("faintcall", appauthor=False)


def record_file() -> Path:
    """Return the path of the record; it may not exist yet."""
    return data_folder() / "record.sqlite3"
